package main

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"

	"pushcue/internal/testdrive"
)

// An archive appears whole or not at all, wherever it is written to.
func TestAnArchiveIsWholeOrNotThere(t *testing.T) {
	t.Parallel()
	d := driveDesk(t)
	name := strings.TrimSuffix(top, "/")
	random := rand.New(rand.NewPCG(rand.Uint64(), 1))
	total := size(contents(t, d.job))
	for _, c := range []struct {
		name  string
		rules testdrive.Rules
		code  int
		want  string
	}{
		{"no room, which is known before", testdrive.Rules{Room: total / 2}, 4, "there is room for"},
		{"a drive that breaks", testdrive.Rules{Breaks: total / 2, With: syscall.EIO}, 4, "the archive can't be written"},
		{"a file too long for it", testdrive.Rules{Longest: total / 2}, 4, "the archive can't be written"},
		{"a drive that can't be written to", testdrive.Rules{ReadOnly: true}, 4, "the archive can't be written"},
		{"a drive that flips a bit", testdrive.Rules{Flips: name}, 6, "reads back differently from what was written"},
	} {
		t.Run(c.name, func(t *testing.T) {
			stick := testdrive.Mount(t, c.rules)
			theirs(t, stick.Behind)
			said(t, d.on(t).run(c.code, "bag", d.job, "--to", stick.Dir), c.want)
			if left, _ := filepath.Glob(filepath.Join(stick.Behind, "*"+name+"*")); len(left) > 0 {
				t.Errorf("left: %v", left)
			}
		})
	}
	t.Run("the program is killed", func(t *testing.T) {
		d := d.on(t)
		stick := testdrive.Mount(t, testdrive.Rules{})
		for _, form := range []string{"zip", "tar", "folder"} {
			cmd := d.program("bag", d.job, "--to", stick.Dir, "--as", form)
			killedWriting(t, cmd, stick, 1+random.Int64N(total))
			if _, err := os.Stat(filepath.Join(stick.Behind, name+strings.TrimSuffix("."+form, ".folder"))); err == nil {
				t.Errorf("%s has its name though it isn't finished", form)
			}
			stick.Set(testdrive.Rules{})
			d.run(0, "bag", d.job, "--to", stick.Dir, "--as", form)
			d.run(0, "verify", stick.Dir)
		}
		if left, _ := filepath.Glob(filepath.Join(stick.Behind, ".*")); len(left) > 0 {
			t.Errorf("left: %v", left)
		}
	})
	t.Run("others want the job meanwhile", func(t *testing.T) {
		d := d.on(t)
		stick := testdrive.Mount(t, testdrive.Rules{})
		var once sync.Once
		var makes []byte
		stick.Set(testdrive.Rules{OnWrite: func(all int64) {
			once.Do(func() { makes, _ = d.program("make", d.job).CombinedOutput() })
		}})
		d.run(0, "bag", d.job, "--to", stick.Dir)
		said(t, string(makes), "another pushcue is at work on "+d.job)
	})
}
