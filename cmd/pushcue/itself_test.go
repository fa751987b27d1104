package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
)

// textJob is a job with a handover as make leaves it, made of texts.
func textJob(t *testing.T, dir string) {
	t.Helper()
	page, timeline := "<html></html>", "{}"
	for name, text := range map[string]string{
		"job.toml": "[job]\nreference = \"2291-B\"\n", "rec.mp4": "film", "log.csv": "video,what\n", "handover/index.html": page, "handover/timeline.json": timeline,
		"handover/SHA256SUMS": fmt.Sprintf("%x  index.html\n%x  timeline.json\n", sha256.Sum256([]byte(page)), sha256.Sum256([]byte(timeline))),
	} {
		writeTo(t, filepath.Join(dir, filepath.FromSlash(name)), text)
	}
}

func runHere(args ...string) (code int, said string) {
	var out bytes.Buffer
	code = run(context.Background(), append([]string{"pushcue"}, args...), &out, &out)
	return code, out.String()
}

func TestACopyNeverGoesIntoItsOwnJob(t *testing.T) {
	top := t.TempDir()
	job := filepath.Join(top, "visit", "job")
	textJob(t, job)
	writeTo(t, filepath.Join(top, "visit", "visit.toml"), "")
	places := []string{job, filepath.Join(job, "handover"), filepath.Join(job, "more"), filepath.Join(top, "visit"), job + "/more/..", filepath.Join(job, "..")}
	must(t, os.Mkdir(filepath.Join(job, "more"), 0o755))
	if runtime.GOOS != "windows" {
		must(t, os.Symlink(job, filepath.Join(top, "drive")))
		must(t, os.Symlink(filepath.Join(job, "handover"), filepath.Join(top, "stick")))
		places = append(places, filepath.Join(top, "drive"), filepath.Join(top, "drive", "more"), filepath.Join(top, "stick"))
	}
	before := listing(t, top)
	for _, jobNamed := range []string{job, filepath.Join(job, "handover")} {
		for _, place := range places {
			code, said := runHere("copy", jobNamed, place)
			if code != exitInput || !strings.Contains(said, "lies in the job's own folder") || !strings.Contains(said, "hint: ") {
				t.Errorf("copy %s %s ended with %d:\n%s", jobNamed, place, code, said)
			}
		}
	}
	if after := listing(t, top); strings.Join(after, "\n") != strings.Join(before, "\n") {
		t.Errorf("left behind: %q, before %q", after, before)
	}
	if code, said := runHere("copy", job, t.TempDir()); code != exitDone {
		t.Errorf("elsewhere it ended with %d:\n%s", code, said)
	}
}

func TestAnArchiveNeverGoesIntoWhatItHolds(t *testing.T) {
	top := t.TempDir()
	job := filepath.Join(top, "job")
	textJob(t, job)
	places := []string{job, filepath.Join(job, "handover"), filepath.Join(job, "archive", "of 2026")}
	if runtime.GOOS != "windows" {
		must(t, os.Symlink(job, filepath.Join(top, "alias")))
		places = append(places, filepath.Join(top, "alias"), filepath.Join(top, "alias", "new"))
	}
	before := listing(t, top)
	for _, place := range places {
		for _, form := range []string{"zip", "folder"} {
			code, said := runHere("bag", "--to", place, "--as", form, job)
			if code != exitInput || !strings.Contains(said, "an archive can't hold itself") || !strings.Contains(said, "--to") {
				t.Errorf("bag --to %s ended with %d:\n%s", place, code, said)
			}
		}
	}
	if after := listing(t, top); strings.Join(after, "\n") != strings.Join(before, "\n") {
		t.Errorf("left behind: %q, before %q", after, before)
	}
	if code, said := runHere("bag", "--to", filepath.Join(top, "archives"), job); code != exitDone {
		t.Errorf("elsewhere it ended with %d:\n%s", code, said)
	}
}
