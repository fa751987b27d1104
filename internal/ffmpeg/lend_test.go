package ffmpeg

import (
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/internal/reach"
	"pushcue/internal/testfootage"
)

// exchanger puts another file under a path and takes it away again.
type exchanger struct {
	t                   *testing.T
	path, aside, second string
}

func (e exchanger) exchange() {
	e.rename(e.path, e.aside)
	e.rename(e.second, e.path)
}

func (e exchanger) undo() {
	e.rename(e.path, e.second)
	e.rename(e.aside, e.path)
}

func (e exchanger) rename(from, to string) {
	if err := os.Rename(from, to); err != nil {
		e.t.Error(err)
	}
}

// exchangeable are two recordings with sound, of 5 and of 10 pictures, the first in place.
func exchangeable(t *testing.T) exchanger {
	dir := t.TempDir()
	e := exchanger{t, filepath.Join(dir, "rec.mkv"), filepath.Join(dir, "aside.mkv"), filepath.Join(dir, "second.mkv")}
	spec := testfootage.Spec{Frames: 5, Width: 64, Height: 64, Container: "mkv", Audio: true}
	testfootage.Link(t, spec, e.path)
	spec.Frames = 10
	testfootage.Link(t, spec, e.second)
	return e
}

// readings are the ways in which a recording is read; each returns how many pictures the
// one read has.
var readings = map[string]func(*testing.T, *Tools, *Media) (int, error){
	"asked": func(t *testing.T, tools *Tools, m *Media) (int, error) {
		got, err := tools.Probe(t.Context(), m.Source)
		if err != nil {
			return 0, err
		}
		return int(got.Duration.Milliseconds()) / 40, nil
	},
	"packets": func(t *testing.T, tools *Tools, m *Media) (n int, err error) {
		_, err = tools.Packets(t.Context(), m, m.Video.Index, func(Packet) error { n++; return nil })
		return n, err
	},
	"read through": func(t *testing.T, tools *Tools, m *Media) (int, error) {
		n, _, err := tools.ReadThrough(t.Context(), m, m.Video.Index)
		return int(n), err
	},
	"decoded": func(t *testing.T, tools *Tools, m *Media) (n int, err error) {
		_, _, err = tools.Decoded(t.Context(), m, Decoding{}, func(DecodedFrame) error { n++; return nil })
		return n, err
	},
	"run of two inputs": func(t *testing.T, tools *Tools, m *Media) (int, error) {
		join := ff.Filter([]*ff.Stream{
			Input(m.Source.Path).Get("v"), Input(m.Source.Path, ff.KwArgs{"thread_queue_size": "9"}).Get("v"),
		}, "concat", nil, ff.KwArgs{"n": "2"})
		r, err := tools.Do(t.Context(), Run{Outputs: []*ff.Stream{OutputPipe([]*ff.Stream{join}, ff.KwArgs{"f": "null"})}, Sources: []*reach.Source{m.Source}})
		return int(r.Frames) / 2, err
	},
	"heard": func(t *testing.T, tools *Tools, m *Media) (int, error) {
		s, err := tools.ProbeSound(t.Context(), m.Source)
		if err != nil {
			return 0, err
		}
		l, _, err := tools.Loudness(t.Context(), s)
		return int(l.Duration.Milliseconds()) / 40, err
	},
}

// Another file lies under a recording's path while a child starts and runs; by the time it
// has ended the first one is back. The child reads the first one.
func TestAChildReadsTheFileThatWasOpened(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("here no file that is being read can be renamed")
	}
	tools, e := realTools(t), exchangeable(t)
	m, err := tools.Probe(t.Context(), reach.Named(e.path, "rec.mkv"))
	if err != nil {
		t.Fatal(err)
	}
	starts := 0
	defer OnStart(func(string, []string) func() {
		starts++
		e.exchange()
		return e.undo
	})()
	for name, read := range readings {
		starts = 0
		if n, err := read(t, tools, m); err != nil || n != 5 || starts == 0 {
			t.Errorf("%s: %d pictures after %d starts: %v", name, n, starts, err)
		}
	}
}

// Once another file lies under the path, or the file was written to, it isn't read.
func TestAnExchangedFileIsNotRead(t *testing.T) {
	tools, e := realTools(t), exchangeable(t)
	m, err := tools.Probe(t.Context(), reach.Named(e.path, "rec.mkv"))
	if err != nil {
		t.Fatal(err)
	}
	e.exchange()
	for name, read := range readings {
		if n, err := read(t, tools, m); !errors.Is(err, reach.ErrChanged) || !OfItself(err) || !strings.Contains(err.Error(), "rec.mkv: changed while it was read") {
			t.Errorf("%s: %d pictures, %v", name, n, err)
		}
	}
}

// Where no open file can be handed over, an exchange is found when the child has ended.
func TestAnExchangeIsFoundWithoutDescriptors(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("here no file that is being read can be renamed")
	}
	was := descriptors
	descriptors = ""
	defer func() { descriptors = was }()
	tools, e := realTools(t), exchangeable(t)
	m, err := tools.Probe(t.Context(), reach.Named(e.path, "rec.mkv"))
	if err != nil {
		t.Fatal(err)
	}
	for name, read := range readings {
		if n, err := read(t, tools, m); err != nil || n != 5 {
			t.Errorf("%s: %d pictures, %v", name, n, err)
		}
		once := true
		undo := OnStart(func(string, []string) func() {
			if once {
				e.exchange()
			}
			once = false
			return func() {}
		})
		if n, err := read(t, tools, m); !errors.Is(err, reach.ErrChanged) {
			t.Errorf("%s, exchanged: %d pictures, %v", name, n, err)
		}
		undo()
		e.undo()
	}
}

func TestAnInputThatNobodyOpenedIsRefused(t *testing.T) {
	tools, _ := fakeTools(t, "")
	out := OutputPipe([]*ff.Stream{Input(filepath.Join(t.TempDir(), "rec.mp4"))}, ff.KwArgs{"f": "null"})
	if _, err := tools.Do(t.Context(), Run{Outputs: []*ff.Stream{out}}); err == nil || !strings.Contains(err.Error(), "without having been opened") {
		t.Error(err)
	}
}

// The folder that a run works in and the one that it writes to are exchanged for links
// while it starts: nothing is written or read elsewhere.
func TestFoldersOfARunStayTheOnesThatWereOpened(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("folders are handed over on Linux only")
	}
	tools := realTools(t)
	t.Setenv("TMPDIR", t.TempDir())
	out, elsewhere := t.TempDir(), t.TempDir()
	run := Run{
		Args:     []string{"-f", "lavfi", "-i", "color=size=16x16:rate=25:duration=0.2", "-filter_complex_script", "graph.txt", "-f", "avi", "-c:v", "rawvideo", "file:" + filepath.Join(out, "out.avi")},
		Contents: map[string][]byte{"graph.txt": []byte("[0:v]null")},
	}
	defer OnStart(func(string, []string) func() {
		folders, err := filepath.Glob(filepath.Join(os.Getenv("TMPDIR"), tempPrefix+"*"))
		if err != nil || len(folders) != 1 {
			t.Errorf("%v %v", folders, err)
		}
		for _, path := range append(folders, out) {
			if err := errors.Join(os.Rename(path, path+"-aside"), os.Symlink(elsewhere, path)); err != nil {
				t.Error(err)
			}
		}
		return func() {
			for _, path := range append(folders, out) {
				if err := errors.Join(os.Remove(path), os.Rename(path+"-aside", path)); err != nil {
					t.Error(err)
				}
			}
		}
	})()
	if _, err := tools.Do(t.Context(), run); err != nil {
		t.Error(err)
	}
	if left, _ := os.ReadDir(elsewhere); len(left) > 0 {
		t.Errorf("written elsewhere: %v", left)
	}
	if info, err := os.Stat(filepath.Join(out, "out.avi")); err != nil || info.Size() == 0 {
		t.Errorf("not written: %v", err)
	}
}
