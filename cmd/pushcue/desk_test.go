package main

import (
	"errors"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"pushcue/internal/testfootage"
)

const copyName = "2291-b-kitchen-lateral"

// desk is a job whose handover is made, and the program.
type desk struct {
	*testing.T
	program func(args ...string) *exec.Cmd
	job     string
}

// plainJob is a small job with its handover, by name; made once.
var plainJob map[string]string

func newDesk(t *testing.T) desk {
	t.Helper()
	d := desk{t, runner(t), filepath.Join(t.TempDir(), "job")}
	if plainJob != nil {
		for name, text := range plainJob {
			writeTo(t, filepath.Join(d.job, name), text)
		}
		return d
	}
	copyTo(t, testfootage.Numbered(t, testfootage.Spec{Frames: 150, Audio: true}), filepath.Join(d.job, "tramo: 1?.mp4"))
	writeTo(t, filepath.Join(d.job, "log.csv"), "video,distance,what\n0:02,1.0 m,roots\n0:03,1.5 m,crack\n")
	writeTo(t, filepath.Join(d.job, "job.toml"), "[job]\nreference = \"2291-B\"\ndate = 2026-03-02\nzone = \"Europe/Lisbon\"\n[line]\nname = \"kitchen lateral\"\n")
	d.run(0, "make", "--quick", d.job)
	plainJob = contents(t, d.job)
	return d
}

// run expects an exit code and returns all that was said.
func (d desk) run(code int, args ...string) string {
	d.Helper()
	out, err := d.program(args...).CombinedOutput()
	got := 0
	if exit := (*exec.ExitError)(nil); errors.As(err, &exit) {
		got = exit.ExitCode()
	} else if err != nil {
		d.Fatal(err)
	}
	if got != code {
		d.Fatalf("pushcue %q ended with %d, want %d:\n%s", args, got, code, out)
	}
	return string(out)
}

func (d desk) handover() string { return filepath.Join(d.job, "handover") }

// on is the same desk within a subtest.
func (d desk) on(t *testing.T) desk { d.T = t; return d }

// whole fails unless the copy is the handover, byte for byte.
func (d desk) whole(copied string) {
	d.Helper()
	want, got := contents(d.T, d.handover()), contents(d.T, copied)
	for name, text := range want {
		if got[name] != text {
			d.Errorf("%s differs from the handover's", name)
		}
	}
	if len(got) != len(want) {
		d.Errorf("the copy holds %d files, the handover %d", len(got), len(want))
	}
	checkSums(d.T, copied)
}

// nothingWrong fails when a file with its final name isn't the handover's, or when
// a list of sums stands there.
func (d desk) nothingWrong(copied string) {
	d.Helper()
	want := contents(d.T, d.handover())
	for name, text := range contents(d.T, copied) {
		switch {
		case name == "SHA256SUMS":
			d.Error("a list of sums stands there though the copy isn't finished")
		case name != "COPY-NOT-FINISHED.txt" && !strings.HasSuffix(name, ".partial") && want[name] != text:
			d.Errorf("%s has its name and isn't whole", name)
		}
	}
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

func said(t *testing.T, out string, wants ...string) {
	t.Helper()
	flat := strings.Join(strings.Fields(out), " ")
	for _, want := range wants {
		if !strings.Contains(flat, want) {
			t.Errorf("%q isn't said in:\n%s", want, out)
		}
	}
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
