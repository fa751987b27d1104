package main

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
)

// A drive and an archive with traps: what stands there was written by somebody else too.
func TestHostileDrivesAndArchives(t *testing.T) {
	t.Setenv("XDG_CONFIG_HOME", t.TempDir())
	w := newHostileWorld(t)
	copyOf := filepath.Join(w.drive, "2291-b") // named after the job's reference
	if code, said := runHere("copy", w.job, w.drive); code != exitDone {
		t.Fatalf("%d\n%s", code, said)
	}
	if code, said := runHere("bag", "--as", "folder", "--to", w.archives, w.job); code != exitDone {
		t.Fatalf("%d\n%s", code, said)
	}
	bagOf := filepath.Join(w.archives, names(t, w.archives)[0])
	passwd := filepath.Join(w.outside, "passwd")
	addTo := func(path, text string) { writeTo(t, path, read(t, path)+text) }
	instead := func(path, target string) {
		must(t, os.RemoveAll(path))
		must(t, os.Symlink(target, path))
	}
	copies, verifies := []string{"copy", w.job, w.drive}, []string{"verify", w.drive}
	ofBag := []string{"verify", bagOf}
	for _, c := range []struct {
		name string
		set  func()
		args []string
		want int
		says string
	}{
		{"the drive's list names a file outside", func() {
			addTo(filepath.Join(copyOf, "SHA256SUMS"), sums(read(t, passwd))+"  ../../outside/passwd\n")
		}, verifies, exitUnproven, "../../outside/passwd"},
		{"a copy onto it", func() {
			addTo(filepath.Join(copyOf, "SHA256SUMS"), sums(read(t, passwd))+"  ../../outside/passwd\n")
		}, copies, exitDone, "Everything was read back"},
		{"a list of a copy cut short names a file outside", func() {
			list := filepath.Join(copyOf, "SHA256SUMS")
			addTo(list, sums(read(t, passwd))+"  ../../outside/passwd\n")
			must(t, os.Rename(list, filepath.Join(copyOf, "SHA256SUMS.0123abcd.partial")))
		}, copies, exitDone, "Everything was read back"},
		{"the copy's folder is a link", func() { instead(copyOf, filepath.Join(w.outside, "handover")) }, copies, exitInput, ""},
		{"a folder in the copy is a link", func() { instead(filepath.Join(copyOf, "clips"), filepath.Join(w.outside, "handover", "clips")) }, copies, exitInput, ""},
		{"a folder in the copy leads to the job", func() { instead(filepath.Join(copyOf, "stills"), filepath.Join(w.job, "photos")) }, copies, exitInput, ""},
		{"a file in the copy is a link", func() { instead(filepath.Join(copyOf, "index.html"), passwd) }, copies, exitDone, "1 file copied"},
		{"the note that the copy isn't finished is a link", func() { instead(filepath.Join(copyOf, "COPY-NOT-FINISHED.txt"), passwd) }, copies, exitInput, ""},
		{"the note is a pipe", func() {
			must(t, syscall.Mkfifo(filepath.Join(copyOf, "COPY-NOT-FINISHED.txt"), 0o600))
		}, copies, exitInput, ""},

		{"the archive's list names a file outside", func() {
			addTo(filepath.Join(bagOf, "manifest-sha256.txt"), sums(read(t, passwd))+"  ../../outside/passwd\n")
		}, ofBag, exitUnproven, ""},
		{"the list of its lists names a file outside", func() {
			addTo(filepath.Join(bagOf, "tagmanifest-sha256.txt"), sums(read(t, passwd))+"  ../../outside/passwd\n")
		}, ofBag, exitUnproven, ""},
		{"it has files to be fetched", func() {
			writeTo(t, filepath.Join(bagOf, "fetch.txt"), "file://"+passwd+" - data/passwd\n")
		}, ofBag, exitUnproven, ""},
		{"its log is a link", func() { instead(filepath.Join(bagOf, "data", "log.csv"), filepath.Join(w.outside, "log.csv")) }, ofBag, exitUnproven, ""},
		{"its data are a link", func() { instead(filepath.Join(bagOf, "data"), w.outside) }, ofBag, exitUnproven, ""},
		{"its declaration is a link", func() { instead(filepath.Join(bagOf, "bagit.txt"), passwd) }, ofBag, exitUnproven, ""},
		{"its declaration is a pipe", func() {
			must(t, os.Remove(filepath.Join(bagOf, "bagit.txt")))
			must(t, syscall.Mkfifo(filepath.Join(bagOf, "bagit.txt"), 0o600))
		}, ofBag, exitUnproven, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			for _, dir := range []string{w.drive, w.archives} {
				kept := dir + "-kept"
				must(t, os.CopyFS(kept, os.DirFS(dir)))
				defer func() {
					must(t, os.RemoveAll(dir))
					must(t, os.Rename(kept, dir))
				}()
			}
			c.set()
			before := w.precious()
			code, said := runHere(c.args...)
			if code != c.want || !strings.Contains(said, c.says) || strings.Contains(said, canary) {
				t.Errorf("it ended with %d, want %d, and said:\n%s", code, c.want, said)
			}
			if names := changed(before, w.precious()); len(names) > 0 {
				t.Errorf("%q changed:\n%s", names, said)
			}
			if left := listing(t, copyOf); code == exitDone && c.args[0] == "copy" && slices.Contains(left, "SHA256SUMS.0123abcd.partial") {
				t.Errorf("left on the drive: %q", left)
			}
		})
	}
}
