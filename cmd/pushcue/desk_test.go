package main

import (
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// desk is a job whose handover is made, and the program.
type desk struct {
	*testing.T
	program func(args ...string) *exec.Cmd
	job     string
	apart   bool // run starts a process
}

// newDesk is a desk with a copy of quickJob.
func newDesk(t *testing.T) desk {
	t.Helper()
	d := desk{T: t, program: runner(t), job: filepath.Join(t.TempDir(), "job")}
	quickJob.copyTo(t, d.job)
	return d
}

// run expects an exit code and returns all that was said.
func (d desk) run(code int, args ...string) string {
	d.Helper()
	var got int
	var said string
	if d.apart {
		out, err := d.program(args...).CombinedOutput()
		got, said = codeOf(d.T, err), string(out)
	} else {
		var errs string
		got, said, errs = inProcess(d.T, args...)
		said += errs
	}
	if got != code {
		d.Fatalf("pushcue %q ended with %d, want %d:\n%s", args, got, code, said)
	}
	return said
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

func said(t *testing.T, out string, wants ...string) {
	t.Helper()
	flat := strings.Join(strings.Fields(out), " ")
	for _, want := range wants {
		if !strings.Contains(flat, want) {
			t.Errorf("%q isn't said in:\n%s", want, out)
		}
	}
}
