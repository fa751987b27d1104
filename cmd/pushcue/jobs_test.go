package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"pushcue/internal/testfootage"
)

// copyName is what the handovers of the jobs here are called on a drive.
const copyName = "2291-b-kitchen-lateral"

const sheetOfJobs = `[job]
reference = "2291-B"
date = 2026-03-02
zone = "Europe/Lisbon"
[firm]
name = "Alder Drains"
[site]
address = "2 Hill Road"
[line]
name = "kitchen lateral"
`

// A made job is a job folder with its handover, by the names of its files. It is
// made once, by the program itself, for all tests that want it.
type madeJob struct {
	once  sync.Once
	files map[string]string
	lay   func(t *testing.T, dir string) // puts down what the crew came home with
	flags []string
}

// quickJob is one recording without captions burned in, and an observation of
// each kind that a report sets out in another way.
var quickJob = &madeJob{
	flags: []string{"--quick"},
	lay: func(t *testing.T, dir string) {
		copyTo(t, testfootage.Numbered(t, testfootage.Spec{Frames: 150, Audio: true}), filepath.Join(dir, "tramo: 1?.mp4"))
		writeTo(t, filepath.Join(dir, "log.csv"), "video,distance,what,clock,urgency,note\n"+
			"0:01,1.0 m,roots,9-3,repair,\"half the bore, größer als früher\"\n"+
			"0:02,1.5 m,crack,12,watch,\"<b>hairline</b> & dry\"\n"+
			"0:03,2.0 m,standing water,,none,to 2.6 m\n"+
			"0:04,2.5 m,offset joint,6,at once,15 mm\n"+
			"0:05,3.0 m,grease,,,\n")
		writeTo(t, filepath.Join(dir, "job.toml"), sheetOfJobs)
	},
}

// wholeJob is a recording in two parts with all that can be made of it.
var wholeJob = &madeJob{lay: wholeSources}

const firstFrames, allFrames = 100, 150 // of the first part and of both

var firstPart = testfootage.Spec{Frames: firstFrames, Audio: true}

func wholeSources(t *testing.T, dir string) {
	t.Helper()
	layParts(t, dir, firstPart, testfootage.Spec{Frames: allFrames - firstFrames, First: firstFrames, Audio: true})
	writeTo(t, filepath.Join(dir, "log.csv"), "video,distance,what,clock,note\n"+
		"0:01,1.0 m,roots,9-3,\"half the bore\"\n0:02,1.5 m,crack,,\n0:05,3.5 m,belly,12,=HYPERLINK(\"x\")\n")
}

// smallSources are a short recording without sound, and one observation: little work for make.
func smallSources(t *testing.T, dir string) {
	t.Helper()
	layParts(t, dir, testfootage.Spec{Frames: 50, Width: 160, Height: 120})
	writeTo(t, filepath.Join(dir, "log.csv"), "video,distance,what\n0:00.5,1.0 m,roots\n")
}

func layParts(t *testing.T, dir string, parts ...testfootage.Spec) {
	t.Helper()
	for i, part := range parts {
		copyTo(t, testfootage.Numbered(t, part), filepath.Join(dir, fmt.Sprintf("part%d.mp4", i+1)))
	}
	writeTo(t, filepath.Join(dir, "job.toml"), sheetOfJobs+"[clips]\nlead = \"0.4s\"\ntail = \"0.6s\"\n[stills]\nwindow = \"0.2s\"\n[counter]\nlook = \"off\"\n")
}

// copyTo writes the job with its handover into a folder.
func (j *madeJob) copyTo(t *testing.T, dir string) {
	t.Helper()
	j.once.Do(func() {
		made := filepath.Join(t.TempDir(), "job")
		j.lay(t, made)
		if out, err := runner(t)(append(append([]string{"make"}, j.flags...), made)...).CombinedOutput(); err != nil {
			t.Errorf("%v\n%s", err, out)
			return
		}
		j.files = contents(t, made)
	})
	if j.files == nil {
		t.Fatal("the job that this test wants couldn't be made")
	}
	for name, text := range j.files {
		writeTo(t, filepath.Join(dir, name), text)
	}
}

// madeOfSmall is the names of what is made of a small job: what is made of wholeJob, less
// what is there for its second part and its other observations.
func madeOfSmall(t *testing.T) []string {
	t.Helper()
	wholeJob.copyTo(t, filepath.Join(t.TempDir(), "job"))
	var names []string
	for name := range wholeJob.files {
		made, ok := strings.CutPrefix(name, "handover/")
		if ok && !strings.Contains(made, "part2") && !strings.Contains(made, "02_") && !strings.Contains(made, "03_") {
			names = append(names, made)
		}
	}
	slices.Sort(names)
	return names
}

// sources are what a small job came with: they are never written to.
var sources = []string{"part1.mp4", "log.csv", "job.toml"}

// smallJob is a job folder of which nothing is made yet.
func smallJob(t *testing.T) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "job")
	smallSources(t, dir)
	return dir
}

// unchanged fails unless the sources of a small job are what they came as.
func unchanged(t *testing.T, dir string) {
	t.Helper()
	clean := smallJob(t)
	for _, name := range sources {
		if read(t, filepath.Join(dir, name)) != read(t, filepath.Join(clean, name)) {
			t.Errorf("%s was changed", name)
		}
	}
}

func copyTo(t *testing.T, from, to string) {
	t.Helper()
	text, err := os.ReadFile(from)
	if err != nil {
		t.Fatal(err)
	}
	writeTo(t, to, string(text))
}

func writeTo(t *testing.T, path, text string) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func read(t *testing.T, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// listing is the files below a folder, by their paths from there with slashes.
func listing(t *testing.T, root string) []string {
	t.Helper()
	var names []string
	err := filepath.WalkDir(root, func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			if errors.Is(err, os.ErrNotExist) {
				return nil
			}
			return err
		}
		rel, err := filepath.Rel(root, path)
		names = append(names, filepath.ToSlash(rel))
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return names
}

func contents(t *testing.T, root string) map[string]string {
	t.Helper()
	all := map[string]string{}
	for _, name := range listing(t, root) {
		all[name] = read(t, filepath.Join(root, name))
	}
	return all
}

func size(all map[string]string) int64 {
	var n int64
	for _, text := range all {
		n += int64(len(text))
	}
	return n
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
