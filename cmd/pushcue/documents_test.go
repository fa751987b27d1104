package main

import (
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

var (
	fencedBlock = regexp.MustCompile("(?s)```[a-z]*\n(.*?)```")

	// shownCommand matches a command in such a block: at the start of a line, with or
	// without a prompt.
	shownCommand = regexp.MustCompile(`(?m)^(?:\$ |    )?((?:scripts/[a-z]+|pushcue [a-z]+)[^\n]*)$`)

	shownFlag = regexp.MustCompile(`--([a-z][a-z-]*)`)
)

func TestDocumentsShowCommandsThatExist(t *testing.T) {
	const root = "../.."
	for _, name := range []string{"README.md", "DEVELOPERS.md"} {
		text, err := os.ReadFile(filepath.Join(root, name))
		if err != nil {
			t.Fatal(err)
		}
		found := 0
		for _, block := range fencedBlock.FindAllSubmatch(text, -1) {
			for _, command := range shownCommand.FindAllSubmatch(block[1], -1) {
				found++
				if why := checkShown(root, string(command[1])); why != "" {
					t.Errorf("%s shows %q: %s", name, command[1], why)
				}
			}
		}
		if found == 0 {
			t.Errorf("%s shows no command", name)
		}
	}
	for command, wrong := range map[string]bool{
		"pushcue make --no-video JOB": true, "pushcue burn JOB": true, "scripts/nothing": true, "pushcue make JOB": false,
	} {
		if why := checkShown(root, command); (why != "") != wrong {
			t.Errorf("%s: %q", command, why)
		}
	}
}

// checkShown returns what is wrong with a command that a document shows, or "".
func checkShown(root, command string) string {
	command, _, _ = strings.Cut(command, " #")
	words := strings.Fields(command)
	if strings.HasPrefix(command, "scripts/") {
		if _, err := os.Stat(filepath.Join(root, words[0])); err != nil {
			return "there is no such script"
		}
		return ""
	}
	c := newApp(io.Discard, io.Discard).Command(words[1])
	if c == nil {
		return "pushcue has no such command"
	}
	names := []string{"help"}
	for _, f := range c.Flags {
		names = append(names, f.Names()...)
	}
	for _, f := range shownFlag.FindAllStringSubmatch(command, -1) {
		if !slices.Contains(names, f[1]) {
			return "it has no flag --" + f[1]
		}
	}
	return ""
}
