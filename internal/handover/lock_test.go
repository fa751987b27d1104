package handover

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/job"
	"pushcue/internal/shelf"
	"pushcue/internal/trouble"
)

func TestASecondRunIsToldWhoIsAtWork(t *testing.T) {
	work := openedFolder(t, t.TempDir())
	first, err := shelf.Lock(work)
	if err != nil {
		t.Fatal(err)
	}
	_, err = shelf.Lock(work)
	var trouble *trouble.Trouble
	if !errors.As(err, &trouble) || !strings.Contains(trouble.Text.String(), "process") {
		t.Fatalf("got %v", err)
	}
	first.Release()
	second, err := shelf.Lock(work)
	if err != nil {
		t.Fatalf("after the first ended: %v", err)
	}
	second.Release()
}

func TestALockLeftByADeadRunHoldsNobodyUp(t *testing.T) {
	work := openedFolder(t, t.TempDir())
	if err := os.WriteFile(work.At("lock"), []byte("999999999\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	l, err := shelf.Lock(work)
	if err != nil {
		t.Fatal(err)
	}
	l.Release()
}

func TestALockThatCannotBeNotedIsGivenBack(t *testing.T) {
	work := openedFolder(t, t.TempDir())
	asItIs := shelf.WriteHolder
	shelf.WriteHolder = func(*os.File) error {
		return &fs.PathError{Op: "truncate", Path: work.At("lock"), Err: fs.ErrPermission}
	}
	_, err := shelf.Lock(work)
	shelf.WriteHolder = asItIs
	var trouble *trouble.Trouble
	if !errors.As(err, &trouble) {
		t.Fatalf("got %v", err)
	}
	l, err := shelf.Lock(work)
	if err != nil {
		t.Fatalf("the first try still holds it: %v", err)
	}
	l.Release()
}

func TestAFullDiskIsKnownAsOneWhoeverMetIt(t *testing.T) {
	noSpace := &fs.PathError{Op: "write", Path: "work/x.mp4", Err: syscall.ENOSPC}
	for name, err := range map[string]error{
		"met by us while writing":  trouble.Writing("work/x.mp4", noSpace),
		"met by us anywhere else":  trouble.NoRoom("work", noSpace),
		"met by ffmpeg":            trouble.NoRoom("work", &ffmpeg.Error{Stderr: "av_interleaved_write_frame(): No space left on device"}),
		"known already as trouble": trouble.NoRoom("work", trouble.Writing("work/x.mp4", noSpace)),
	} {
		var trouble *trouble.Trouble
		if !errors.As(err, &trouble) || !trouble.Full {
			t.Errorf("%s: %+v", name, err)
		}
	}
}

// With --out our own folder stands beside the handover, not in the job.
func TestAHandoverElsewhereIsHeldWhereItsMakerHoldsIt(t *testing.T) {
	j, out := t.TempDir(), filepath.Join(t.TempDir(), "there")
	overwrite(t, filepath.Join(j, "rec.mp4"), "x")
	overwrite(t, filepath.Join(out, shelf.SumsName), "")
	a := job.Ask{Path: j, Out: out}
	v, err := job.Open(context.Background(), a)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.MkdirAll(v.Work, 0o755); err != nil {
		t.Fatal(err)
	}
	making, err := shelf.Lock(openedFolder(t, v.Work))
	if err != nil {
		t.Fatal(err)
	}
	defer making.Release()
	f, err := Finish(context.Background(), a)
	if err != nil {
		t.Fatal(err)
	}
	var trouble *trouble.Trouble
	if _, err := f.Hold(); !errors.As(err, &trouble) {
		t.Errorf("it can be read while it is being made: %v", err)
	}
}

func TestReadersHoldMakeOffAndMakeHoldsReadersOff(t *testing.T) {
	f := &Finished{work: t.TempDir()}
	work := openedFolder(t, f.work)
	if _, err := f.Hold(); err != nil {
		t.Fatalf("with no lock file: %v", err)
	}
	making, err := shelf.Lock(work)
	if err != nil {
		t.Fatal(err)
	}
	var trouble *trouble.Trouble
	if _, err := f.Hold(); !errors.As(err, &trouble) || !strings.Contains(trouble.Text.String(), "process") {
		t.Fatalf("while it is being made: %v", err)
	}
	making.Release()
	one, err := f.Hold()
	if err != nil {
		t.Fatal(err)
	}
	two, err := f.Hold()
	if err != nil {
		t.Fatalf("a second reader: %v", err)
	}
	one()
	if _, err := shelf.Lock(work); !errors.As(err, &trouble) {
		t.Fatalf("while one still reads: %v", err)
	}
	two()
	if making, err = shelf.Lock(work); err != nil {
		t.Fatal(err)
	}
	making.Release()
}
