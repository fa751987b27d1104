package main

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"
)

// helpText runs a command that must succeed, and returns what it printed.
func helpText(t *testing.T, args ...string) string {
	t.Helper()
	var out, errs bytes.Buffer
	if code := run(context.Background(), append([]string{"pushcue"}, args...), &out, &errs); code != exitDone {
		t.Fatalf("pushcue %s ended with %d:\n%s", strings.Join(args, " "), code, errs.String())
	}
	return out.String()
}

func TestHelpFitsATerminal(t *testing.T) {
	app := newApp(nil, nil)
	texts := map[string]string{"pushcue --help": helpText(t, "--help"), "pushcue help": helpText(t, "help")}
	for _, topic := range topics {
		texts["pushcue help "+topic.name] = helpText(t, "help", topic.name)
	}
	for _, c := range app.Commands {
		texts["pushcue help "+c.Name] = helpText(t, "help", c.Name)
		texts["pushcue "+c.Name+" --help"] = helpText(t, c.Name, "--help")
	}
	holders := 0
	for command, text := range texts {
		if len(text) < 40 {
			t.Errorf("%s prints only %q", command, text)
		}
		for line := range strings.Lines(text) {
			if n := utf8.RuneCountInString(strings.TrimSuffix(line, "\n")); n > helpWidth {
				t.Errorf("%s: %d columns: %s", command, n, line)
			}
		}
		if strings.Contains(text, "130  interrupted") {
			holders++
		}
	}
	if holders != 1 {
		t.Errorf("the exit codes stand in %d help texts, want one", holders)
	}
}

func TestWrappingKeepsEveryWord(t *testing.T) {
	long := strings.Repeat("word and another ", 12)
	for _, line := range []string{"   " + long, "   --flag VALUE, -f  " + long, "   " + strings.Repeat("x", 60) + "  " + long, long} {
		got := wrapped(strings.TrimRight(line, " "))
		if !slices.Equal(strings.Fields(got), strings.Fields(line)) {
			t.Errorf("%q became\n%s", line, got)
		}
		for row := range strings.SplitSeq(got, "\n") {
			if utf8.RuneCountInString(row) > helpWidth {
				t.Errorf("too wide: %q", row)
			}
		}
	}
}

func TestManualPageHoldsCommandsAndTopics(t *testing.T) {
	page := helpText(t, "manual")
	for _, c := range newApp(nil, nil).Commands {
		if held := strings.Contains(page, "\n.SH "+c.Name) || strings.Contains(page, "\n.SS "+c.Name); held == c.Hidden {
			t.Errorf("the manual page holds %s: %v", c.Name, held)
		}
	}
	if !strings.Contains(page, "EXIT STATUS") || !strings.Contains(page, "interrupted") {
		t.Error("the manual page doesn't hold the exit codes")
	}
}

// TestBashCompletes has bash complete half-typed command lines as a user would.
func TestBashCompletes(t *testing.T) {
	bash, err := exec.LookPath("bash")
	if err != nil {
		t.Skip("bash isn't installed")
	}
	self, err := os.Executable()
	must(t, err)
	dir := t.TempDir()
	must(t, os.Symlink(self, filepath.Join(dir, "pushcue")))
	writeTo(t, filepath.Join(dir, "complete"), helpText(t, "completion", "bash"))
	for _, c := range []struct {
		line []string
		want string
	}{
		{[]string{"pushcue", "ver"}, "verify"},
		{[]string{"pushcue", "re"}, "review"},
		{[]string{"pushcue", "make", "--onl"}, "--only"},
		{[]string{"pushcue", "make", "$(touch " + dir + "/evaluated)", "--onl"}, "--only"},
		{[]string{"pushcue", "make", ""}, ""},
	} {
		script := `. ./complete; COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _pushcue; echo "${COMPREPLY[*]}"`
		cmd := exec.Command(bash, append([]string{"-c", script, "bash"}, c.line...)...)
		cmd.Dir = dir
		cmd.Env = append(os.Environ(), "PATH="+dir+string(os.PathListSeparator)+os.Getenv("PATH"))
		out, err := cmd.CombinedOutput()
		if got := strings.TrimSpace(string(out)); err != nil || got != c.want {
			t.Errorf("%q is completed to %q, want %q (%v)", c.line, got, c.want, err)
		}
	}
	if _, err := os.Stat(filepath.Join(dir, "evaluated")); err == nil {
		t.Error("completing a word ran a command that stands in it")
	}
}
