package main

import (
	"bytes"
	"fmt"
	"path"
	"strings"
)

// debianVersion is a version as Debian sorts it: 1.2.0-rc.1 comes before 1.2.0.
func debianVersion(version string) string { return strings.Replace(version, "-", "~", 1) }

// copyright is pushcue's licence, and where those of the linked modules stand.
func copyright(common []file) []byte {
	var text bytes.Buffer
	for _, f := range common {
		if f.name == "LICENSE" {
			fmt.Fprintf(&text, "%s\n", f.data)
		}
	}
	text.WriteString("The program holds parts of the modules below. Their licence texts stand in LICENCES.gz\n" +
		"beside this file; on Debian, the Apache License also in /usr/share/common-licenses/Apache-2.0.\n\n")
	for _, f := range common {
		if module, found := strings.CutPrefix(path.Dir(f.name), "licences/"); found {
			fmt.Fprintf(&text, "  %s\n", module)
		}
	}
	return text.Bytes()
}

// licenceTexts joins the licence texts of all that is linked.
func licenceTexts(common []file) []byte {
	var text bytes.Buffer
	for _, f := range common {
		if module, found := strings.CutPrefix(path.Dir(f.name), "licences/"); found {
			fmt.Fprintf(&text, "%s\n\n%s (%s)\n\n%s\n", strings.Repeat("-", 78), module, path.Base(f.name), f.data)
		}
	}
	return text.Bytes()
}
