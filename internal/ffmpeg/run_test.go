package ffmpeg

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/internal/reach"
	"pushcue/internal/testfootage"
)

func TestEndOfPipeIsNoSuccess(t *testing.T) {
	tools, _ := fakeTools(t, "half")
	var read []byte
	var readErr error
	_, err := tools.Do(t.Context(), Run{Args: []string{"x"}, Stdout: func(r io.Reader) error {
		read, readErr = io.ReadAll(r)
		return readErr
	}})
	if string(read) != "half of a picture" || readErr == nil {
		t.Errorf("read %q and %v: a failed run looks whole to its reader", read, readErr)
	}
	var e *Error
	if !errors.As(err, &e) || !strings.Contains(e.Text.String(), "Conversion failed!") || !strings.Contains(e.Stderr, "something broke") {
		t.Errorf("got %v", err)
	}
}

func TestHangingRunIsGivenUp(t *testing.T) {
	tools, _ := fakeTools(t, "hang")
	for name, stdout := range map[string]func(io.Reader) error{
		"nobody reads":   nil,
		"somebody reads": func(r io.Reader) error { _, err := io.Copy(io.Discard, r); return err },
	} {
		_, err := tools.Do(t.Context(), Run{Args: []string{"x"}, Stall: 200 * time.Millisecond, Stdout: stdout})
		var e *Error
		if !errors.As(err, &e) || !strings.Contains(e.Text.String(), "hangs") || e.Hint.Empty() {
			t.Errorf("%s: got %v", name, err)
		}
	}
}

// ffprobe is given up like ffmpeg: a drive may stop answering before any work began.
func TestHangingProbeIsGivenUp(t *testing.T) {
	tools, _ := fakeTools(t, "hang")
	for name, stdout := range map[string]func(io.Reader) error{
		"nobody reads":   nil,
		"somebody reads": func(r io.Reader) error { _, err := io.Copy(io.Discard, r); return err },
	} {
		err := process{path: tools.FFprobe, args: []string{"x"}, stdout: stdout, stall: 200 * time.Millisecond}.run(t.Context())
		var e *Error
		if !errors.As(err, &e) || !strings.HasPrefix(e.Text.String(), "ffprobe hangs") || e.Hint.Empty() {
			t.Errorf("%s: got %v", name, err)
		}
	}
}

func TestReaderThatGivesUpStopsTheRun(t *testing.T) {
	tools, _ := fakeTools(t, "hang")
	enough := errors.New("enough")
	if _, err := tools.Do(t.Context(), Run{Args: []string{"x"}, Stdout: func(io.Reader) error { return enough }}); err != enough {
		t.Errorf("got %v", err)
	}
}

func TestCancelledRunSaysSo(t *testing.T) {
	tools, _ := fakeTools(t, "hang")
	ctx, stop := context.WithCancel(t.Context())
	_, err := tools.Do(ctx, Run{Args: []string{"x"}, Stdout: func(r io.Reader) error {
		io.ReadFull(r, make([]byte, len("ready")))
		stop()
		_, err := io.Copy(io.Discard, r)
		return err
	}})
	if err != context.Canceled {
		t.Errorf("got %v", err)
	}
	if _, err := tools.Do(ctx, Run{Args: []string{"x"}}); err != context.Canceled {
		t.Errorf("begun too late: got %v", err)
	}
}

func TestFullDriveHasAHint(t *testing.T) {
	tools, _ := fakeTools(t, "full")
	_, err := tools.Do(t.Context(), Run{Args: []string{"x"}})
	var e *Error
	if !errors.As(err, &e) || !strings.Contains(e.Hint.String(), "full") {
		t.Errorf("got %v", err)
	}
}

func TestReportsAndComplaintsAreToldApart(t *testing.T) {
	tools, _ := fakeTools(t, "reports")
	var got []Progress
	result, err := tools.Do(t.Context(), Run{Args: []string{"x"}, Progress: func(p Progress) { got = append(got, p) }})
	if err != nil {
		t.Fatal(err)
	}
	last := Progress{Frame: 30, Time: 1200 * time.Millisecond, Speed: 2.5, Done: true}
	if len(got) != 3 || got[2] != last {
		t.Errorf("got %+v", got)
	}
	if result.Frames != 30 || result.Complaints != 1000 || len(result.Said) > tailBytes {
		t.Errorf("%d frames, %d complaints, %d bytes of them", result.Frames, result.Complaints, len(result.Said))
	}
}

func TestRunHasItsOwnFolder(t *testing.T) {
	tools, _ := fakeTools(t, "where")
	odd := filepath.Join(t.TempDir(), "it's a [script], 12:03; 100%=\\.ass")
	if err := os.WriteFile(odd, []byte("linked"), 0o600); err != nil {
		t.Fatal(err)
	}
	var said []byte
	_, err := tools.Do(t.Context(), Run{Args: []string{"x"},
		Files:    map[string]string{"place.ass": odd},
		Contents: map[string][]byte{"fonts/dejavu.ttf": []byte("a font")},
		Stdout:   func(r io.Reader) (err error) { said, err = io.ReadAll(r); return err },
	})
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(strings.ReplaceAll(string(said), tempLockName+"=\n", "")), "\n")
	if len(lines) != 3 || lines[1] != "fonts/dejavu.ttf=a font" || lines[2] != "place.ass=linked" {
		t.Errorf("the run saw %q", lines)
	}
	if _, err := os.Stat(lines[0]); !os.IsNotExist(err) {
		t.Errorf("the folder %s was left behind", lines[0])
	}
	for _, name := range []string{"../out", "/etc/x", "a:b", "it's", "-x", "a//b", ""} {
		if _, err := tools.Do(t.Context(), Run{Args: []string{"x"}, Contents: map[string][]byte{name: nil}}); err == nil {
			t.Errorf("%q was taken for a name", name)
		}
	}
}

func TestAnyFileName(t *testing.T) {
	tools := realTools(t)
	from := testfootage.Numbered(t, testfootage.Spec{Frames: 5, Width: 64, Height: 64, Codec: "mpeg4"})
	dir := t.TempDir()
	var outputs []*ff.Stream
	var made []string
	var sources []*reach.Source
	for _, name := range []string{
		"plain.mp4", "-dash.mp4", "co:lon.mp4", "http:x.mp4", "concat:x|y.mp4", "a b 'c' \"d\".mp4", "50%d %03d.mp4", "line\nbreak.mp4",
		"[in], ; = \\back.mp4", " leading.mp4", "日本語 é 🕳.mp4", "pipe:1", "#hash?query=1.mp4", "bad\xff\xfebytes.mp4", "file:x.mp4",
	} {
		path := filepath.Join(dir, name)
		if err := link(from, path); err != nil {
			continue // this file system doesn't know such names
		}
		m, err := tools.Probe(t.Context(), reach.Named(path, name))
		if err != nil {
			t.Errorf("%q: %v", name, err)
			continue
		}
		to := filepath.Join(dir, "out "+name)
		outputs = append(outputs, Output([]*ff.Stream{Input(m.Source.Path).Get("v")}, to, ff.KwArgs{"f": "mp4", "c": "copy"}))
		made, sources = append(made, to), append(sources, m.Source)
	}
	if _, err := tools.Do(t.Context(), Run{Outputs: outputs, Sources: sources}); err != nil { // one run for all of them
		t.Error(err)
	}
	for _, to := range made {
		if info, err := os.Stat(to); err != nil || info.Size() == 0 {
			t.Errorf("%q wasn't written: %v", to, err)
		}
	}
}

func TestInterruptedRunLeavesAFileThatPlays(t *testing.T) {
	unixOnly(t)
	tools := realTools(t)
	setPatience(t, time.Hour)
	to := filepath.Join(t.TempDir(), "out.mp4")
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	_, err := tools.Do(ctx, Run{
		Args: []string{"-f", "lavfi", "-re", "-i", "testsrc=size=160x120:rate=25", "-c:v", "mpeg4", to},
		Progress: func(p Progress) { // some frames are written
			if p.Frame > 5 {
				stop()
			}
		},
	})
	if err != context.Canceled {
		t.Fatalf("got %v", err)
	}
	if _, err := tools.Probe(t.Context(), reach.Named(to, "out.mp4")); err != nil {
		t.Errorf("ffmpeg wasn't given the time to close its file: %v", err)
	}
}
