//go:build unix

package main

import (
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// A stranger's job folder, with a trap in it, before every command that reads one: each
// ends with the right code and a hint, shows nothing from outside and changes nothing.
func TestEveryCommandKeepsToTheJobFolder(t *testing.T) {
	const secret = "hunter2"
	traps := map[string]func(job, outside string) error{
		"a log outside": func(job, outside string) error {
			return os.WriteFile(filepath.Join(job, "job.toml"), []byte("[log]\nfile = \"../outside/secret.csv\"\n"), 0o644)
		},
		"a recording outside": func(job, outside string) error {
			return os.WriteFile(filepath.Join(job, "job.toml"), []byte("[recording]\nfiles = [\"../outside/secret.csv\"]\n"), 0o644)
		},
		"a linked sheet": func(job, outside string) error {
			return replace(filepath.Join(job, "job.toml"), filepath.Join(outside, "secret.csv"))
		},
		"linked corrections": func(job, outside string) error {
			return os.Symlink(filepath.Join(outside, "secret.csv"), filepath.Join(job, "edits.jsonl"))
		},
		"endless corrections": func(job, outside string) error {
			return os.Symlink("/dev/zero", filepath.Join(job, "edits.jsonl"))
		},
		"a pipe as the sheet": func(job, outside string) error {
			path := filepath.Join(job, "job.toml")
			if err := os.Remove(path); err != nil {
				return err
			}
			return syscall.Mkfifo(path, 0o600)
		},
		"a pipe as the log": func(job, outside string) error {
			path := filepath.Join(job, "log.csv")
			if err := os.Remove(path); err != nil {
				return err
			}
			return syscall.Mkfifo(path, 0o600)
		},
		"a linked handover": func(job, outside string) error {
			if err := os.Rename(filepath.Join(job, "handover"), filepath.Join(outside, "handover")); err != nil {
				return err
			}
			return os.Symlink(filepath.Join(outside, "handover"), filepath.Join(job, "handover"))
		},
		"a pipe as the list of sums": func(job, outside string) error {
			path := filepath.Join(job, "handover", "SHA256SUMS")
			if err := os.Remove(path); err != nil {
				return err
			}
			return syscall.Mkfifo(path, 0o600)
		},
	}
	ofHandover := []string{"a linked handover", "a pipe as the list of sums"}
	for what, set := range traps {
		top := t.TempDir()
		job, outside := filepath.Join(top, "job"), filepath.Join(top, "outside")
		textJob(t, job)
		writeTo(t, filepath.Join(outside, "secret.csv"), secret+"\nvideo,what\n0:01,"+secret+"\n")
		must(t, set(job, outside))
		before := strings.Join(listing(t, top), "\n")
		drive, archives := t.TempDir(), t.TempDir()
		for _, command := range [][]string{{"check", job}, {"make", job}, {"bag", "--to", archives, job}, {"copy", job, drive}, {"verify", job}} {
			aboutHandover := strings.Contains(strings.Join(ofHandover, "|"), what)
			if what == "a pipe as the list of sums" && (command[0] == "check" || command[0] == "make") {
				continue // these go on to ffmpeg
			}
			if !aboutHandover && (command[0] == "copy" || command[0] == "verify") {
				continue // they read the handover only, which is in order
			}
			code, said := runHere(command...)
			want := exitInput
			if command[0] == "verify" && what == "a pipe as the list of sums" {
				want = exitUnproven
			}
			if command[0] == "verify" && what == "a linked handover" {
				want = exitInput // it is passed over, and nothing else is there
			}
			if code != want || strings.Contains(said, secret) || want == exitInput && !strings.Contains(said, "hint: ") {
				t.Errorf("%s: %s ended with %d:\n%s", what, command[0], code, said)
			}
		}
		if after := strings.Join(listing(t, top), "\n"); after != before {
			t.Errorf("%s: left behind:\n%s\nbefore:\n%s", what, after, before)
		}
		if left := append(listing(t, drive), listing(t, archives)...); len(left) > 0 {
			t.Errorf("%s: on the drive and among the archives: %q", what, left)
		}
	}
}

// replace puts a link in a file's place.
func replace(path, target string) error {
	if err := os.Remove(path); err != nil {
		return err
	}
	return os.Symlink(target, path)
}
