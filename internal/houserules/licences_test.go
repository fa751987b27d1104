package houserules

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// licences are recognised by words of their texts; the first that fits counts. None of
// them forbids distribution in a program with or without its source.
var licences = []struct{ name, words string }{
	{"MPL-2.0", "Mozilla Public License"},
	{"Apache-2.0", "Apache License"},
	{"MIT", "Permission is hereby granted, free of charge"},
	{"BSD", "Redistribution and use in source and binary forms"},
	{"Unlicense", "released into the public domain"},
	{"ISC", "Permission to use, copy, modify, and/or distribute this software"},
}

var (
	licenceFile = regexp.MustCompile(`(?i)^(un)?licen[sc]e|^copying`)
	forbidden   = regexp.MustCompile(`(?i)GNU (Affero |Lesser )?General Public License|non-?commercial (use|purposes) only|no distribution`)
	blanks      = regexp.MustCompile(`\s+`)
)

// TestLicencesOfLinkedModules holds the list of what is linked into the program to what
// is: a new module, or one under another licence, is seen by whoever adds it.
func TestLicencesOfLinkedModules(t *testing.T) {
	var got []string
	for _, system := range []string{"linux", "darwin", "windows"} {
		list := exec.Command("go", "list", "-deps", "-f", "{{with .Module}}{{.Path}}={{.Dir}}{{end}}", "pushcue/cmd/pushcue")
		list.Env = append(os.Environ(), "GOOS="+system)
		out, err := list.Output()
		if err != nil {
			t.Fatal(err)
		}
		lines := strings.Fields(string(out))
		slices.Sort(lines)
		for _, line := range slices.Compact(lines) {
			if path, dir, _ := strings.Cut(line, "="); path != "pushcue" {
				got = append(got, fmt.Sprintf("%s\t%s", path, licenceOf(t, path, dir)))
			}
		}
	}
	slices.Sort(got)
	got = slices.Compact(got)
	listed, err := os.ReadFile(filepath.Join("testdata", "licences.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	want := strings.Split(strings.TrimSpace(string(listed)), "\n")
	for _, line := range got {
		if !slices.Contains(want, line) {
			t.Errorf("linked and not in testdata/licences.tsv: %s", line)
		}
	}
	for _, line := range want {
		if !slices.Contains(got, line) {
			t.Errorf("in testdata/licences.tsv and not linked: %s", line)
		}
	}
}

func licenceOf(t *testing.T, path, dir string) string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if e.IsDir() || !licenceFile.MatchString(e.Name()) {
			continue
		}
		text, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		plain := blanks.ReplaceAllString(strings.ReplaceAll(string(text), ">", " "), " ")
		for _, l := range licences {
			if strings.Contains(plain, l.words) {
				if forbidden.MatchString(plain) && l.name != "MPL-2.0" {
					t.Errorf("%s: %s holds words of a licence that restricts distribution", path, e.Name())
				}
				return l.name
			}
		}
	}
	t.Errorf("%s has no licence that is known here", path)
	return "unknown"
}
