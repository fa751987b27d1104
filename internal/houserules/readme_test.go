package houserules

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// shown are commands as a document shows them: at the start of a line, with or
// without a prompt.
var shown = regexp.MustCompile(`(?m)^(?:\$ |    )?((?:scripts/[a-z]+|pushcue [a-z]+)[^\n]*)$`)

var fenced = regexp.MustCompile("(?s)```[a-z]*\n(.*?)```")

var flag = regexp.MustCompile(`--[a-z][a-z-]*`)

func TestDocumentsShowCommandsThatExist(t *testing.T) {
	program := filepath.Join(t.TempDir(), "pushcue.exe")
	if out, err := exec.Command("go", "build", "-ldflags=-s -w", "-o", program, "pushcue/cmd/pushcue").CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	for _, name := range []string{"README.md", "DEVELOPERS.md"} {
		for _, block := range fenced.FindAllStringSubmatch(text(t, name), -1) {
			for _, command := range shown.FindAllStringSubmatch(block[1], -1) {
				if err := exists(program, command[1]); err != "" {
					t.Errorf("%s shows %q: %s", name, command[1], err)
				}
			}
		}
	}
}

// exists says what is wrong with a shown command; "" where nothing is.
func exists(program, command string) string {
	command, _, _ = strings.Cut(command, " #")
	words := strings.Fields(command)
	if strings.HasPrefix(command, "scripts/") {
		if _, err := os.Stat(filepath.Join(root, words[0])); err != nil {
			return "there is no such script"
		}
		return ""
	}
	help, err := exec.Command(program, words[1], "--help").CombinedOutput()
	if err != nil {
		return "pushcue has no such command"
	}
	for _, f := range flag.FindAllString(command, -1) {
		if !strings.Contains(string(help), f) {
			return "it has no flag " + f
		}
	}
	return ""
}
