package ffmpeg

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"
)

const startsToAsk = 4 // ffmpeg -version, ffprobe -version, -filters, -encoders

// A kept is a pair of stand-ins whose starts are counted, and a folder for answers.
type kept struct {
	t     *testing.T
	where Where
	log   string
}

func newKept(t *testing.T) kept {
	_, dir := fakeTools(t, "")
	alone(t)
	k := kept{t, Where{Settings: dir, Cache: filepath.Join(t.TempDir(), "below", "pushcue")}, filepath.Join(t.TempDir(), "starts")}
	t.Setenv("PUSHCUE_FAKE_STARTS", k.log)
	return k
}

// find finds the stand-ins and returns how many processes that started.
func (k kept) find() (*Tools, int) {
	k.t.Helper()
	os.Remove(k.log)
	tools, err := Find(k.t.Context(), k.where)
	if err != nil {
		k.t.Fatal(err)
	}
	starts, _ := os.ReadFile(k.log)
	return tools, len(starts)
}

// wantStarts fails when finding the stand-ins starts another number of processes.
func (k kept) wantStarts(want int, when string) *Tools {
	k.t.Helper()
	tools, starts := k.find()
	if starts != want {
		k.t.Errorf("%s: %d processes were started, want %d", when, starts, want)
	}
	if tools.Version != "6.1.1" || tools.Encoder != "libx264" {
		k.t.Errorf("%s: found %+v", when, tools)
	}
	return tools
}

// file is the cache's only file.
func (k kept) file() string {
	k.t.Helper()
	files, err := os.ReadDir(k.where.Cache)
	if err != nil || len(files) != 1 {
		k.t.Fatalf("the cache holds %v, %v", files, err)
	}
	return filepath.Join(k.where.Cache, files[0].Name())
}

// ffmpeg and ffprobe as they are found, which are links to this test's own program.
func (k kept) programs() []string {
	return []string{filepath.Join(k.where.Settings, program("ffmpeg")), filepath.Join(k.where.Settings, program("ffprobe"))}
}

func TestFFmpegIsAskedOnce(t *testing.T) {
	k := newKept(t)
	asked := k.wantStarts(startsToAsk, "the first time")
	again := k.wantStarts(0, "the second time")
	if *asked != *again {
		t.Errorf("asked: %+v; kept: %+v", asked, again)
	}
	if info, err := os.Stat(k.file()); err != nil || runtime.GOOS != "windows" && info.Mode().Perm() != 0o600 {
		t.Errorf("the file of the cache: %v, %v", info.Mode(), err)
	}
	k.where.Cache = ""
	k.wantStarts(startsToAsk, "without a cache")
}

func TestAllThatWasEstablishedIsKept(t *testing.T) {
	k := newKept(t)
	t.Setenv("PUSHCUE_FAKE", "tone mapping")
	t.Setenv("PUSHCUE_FAKE_VERSION", "ffmpeg version 7.1 Copyright\n")
	asked, _ := k.find()
	again, starts := k.find()
	if starts != 0 || !again.MapsTones || !again.optionFiles || again.Version != "7.1" || *asked != *again {
		t.Errorf("asked: %+v; kept: %+v, %d starts", asked, again, starts)
	}
}

// Whatever of the two programs changes, they are asked again.
func TestChangedProgramsAreAskedAgain(t *testing.T) {
	k := newKept(t)
	self, err := os.ReadFile(k.programs()[0])
	if err != nil {
		t.Fatal(err)
	}
	long := time.Now().Add(-time.Hour).Truncate(time.Second)
	own := func(path string) { // a copy, of a time that doesn't change by itself
		os.Remove(path)
		if err := errors.Join(os.WriteFile(path, self, 0o700), os.Chtimes(path, long, long)); err != nil {
			t.Fatal(err)
		}
	}
	for _, path := range k.programs() {
		own(path)
		k.wantStarts(startsToAsk, "copied")
		k.wantStarts(0, "as it was")
		for _, change := range []struct {
			what string
			how  func() error
		}{
			{"another time", func() error { return os.Chtimes(path, long, long.Add(time.Nanosecond*1000)) }},
			{"another size", func() error {
				return errors.Join(os.Truncate(path, int64(len(self)+1)), os.Chtimes(path, long, long))
			}},
			{"another file of the same size and time", func() error {
				err := os.Rename(path, path+".old") // keeps its number from being used again
				own(path)
				return errors.Join(err, os.Truncate(path, int64(len(self)+1)), os.Chtimes(path, long, long))
			}},
		} {
			if err := change.how(); err != nil {
				t.Fatal(err)
			}
			k.wantStarts(startsToAsk, filepath.Base(path)+": "+change.what)
			k.wantStarts(0, filepath.Base(path)+": as it was after "+change.what)
		}
	}
}

// A link such as update-alternatives makes leads to the program; the link stays while the
// program behind it changes.
func TestAChangeBehindALinkIsSeen(t *testing.T) {
	k := newKept(t)
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	behind := filepath.Join(t.TempDir(), "ffmpeg-behind")
	path := k.programs()[0]
	if err := errors.Join(link(self, behind), os.Remove(path), os.Symlink(behind, path)); err != nil {
		t.Skip(err) // Windows lets few users make links
	}
	text, err := os.ReadFile(behind)
	if err != nil {
		t.Fatal(err)
	}
	k.wantStarts(startsToAsk, "the first time")
	if err := errors.Join(os.Remove(behind), os.WriteFile(behind, text, 0o700)); err != nil {
		t.Fatal(err)
	}
	k.wantStarts(startsToAsk, "another program behind the same link")
	k.wantStarts(0, "as it was")
}

func TestOtherLibrariesAreSeen(t *testing.T) {
	k := newKept(t)
	loader := filepath.Join(t.TempDir(), "ld.so.cache")
	defer func(was []string) { watched = was }(watched)
	watched = []string{loader}
	k.wantStarts(startsToAsk, "without a list of libraries")
	for _, text := range []string{"libavcodec 59", "libavcodec 59.1"} {
		if err := os.WriteFile(loader, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		k.wantStarts(startsToAsk, "with "+text)
		k.wantStarts(0, "again with "+text)
	}
	t.Setenv("LD_LIBRARY_PATH", t.TempDir())
	k.wantStarts(startsToAsk, "with libraries of one's own")
}

// What stands in the cache and doesn't hold is passed over, and replaced.
func TestABadCacheIsPassedOver(t *testing.T) {
	k := newKept(t)
	k.find()
	path := k.file()
	good, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	with := func(change func(*entry)) []byte {
		var e entry
		if err := json.Unmarshal(good, &e); err != nil {
			t.Fatal(err)
		}
		change(&e)
		text, err := json.Marshal(e)
		if err != nil {
			t.Fatal(err)
		}
		return text
	}
	for name, text := range map[string][]byte{
		"nothing":                   nil,
		"half":                      good[:len(good)/2],
		"no JSON":                   []byte("\x00\xff{"),
		"another form":              []byte(`[1, 2]`),
		"oversized":                 []byte(string(good) + strings.Repeat(" ", cacheBytes)),
		"other questions":           with(func(e *entry) { e.Questions = "0" }),
		"other programs":            with(func(e *entry) { e.Programs = e.Programs[1:] }),
		"a day old":                 with(func(e *entry) { e.Asked = e.Asked.Add(-cacheAge) }),
		"from the future":           with(func(e *entry) { e.Asked = e.Asked.Add(time.Hour) }),
		"an encoder that isn't one": with(func(e *entry) { e.Encoder = "libx264 -y /etc/x" }),
		"no encoder":                with(func(e *entry) { e.Encoder = "" }),
		"no version":                with(func(e *entry) { e.Version = "" }),
		"a version of two lines":    with(func(e *entry) { e.Version = "6.1.1\nand more" }),
	} {
		if err := os.WriteFile(path, text, 0o600); err != nil {
			t.Fatal(err)
		}
		k.wantStarts(startsToAsk, name)
		k.wantStarts(0, "after "+name)
	}
	// The changes above are refused for what they changed alone.
	if err := os.WriteFile(path, with(func(*entry) {}), 0o600); err != nil {
		t.Fatal(err)
	}
	k.wantStarts(0, "unchanged")
	if err := errors.Join(os.Remove(path), os.Mkdir(path, 0o700)); err != nil {
		t.Fatal(err)
	}
	k.wantStarts(startsToAsk, "a folder in its place")
	k.wantStarts(startsToAsk, "still a folder in its place")
}

func TestACacheThatCantBeWrittenIsNoError(t *testing.T) {
	k := newKept(t)
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	k.where.Cache = filepath.Join(file, "pushcue")
	k.wantStarts(startsToAsk, "the first time")
	k.wantStarts(startsToAsk, "the second time")
}

func TestOldFilesAreSweptOut(t *testing.T) {
	k := newKept(t)
	k.find()
	old := time.Now().Add(-cacheAge - time.Minute)
	for _, name := range []string{"ffmpeg-0.json", "ffmpeg-1.tmp", "foreign.json"} {
		path := filepath.Join(k.where.Cache, name)
		if err := errors.Join(os.WriteFile(path, nil, 0o600), os.Chtimes(path, old, old)); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Remove(filepath.Join(k.where.Cache, cacheName(k.programs()...))); err != nil {
		t.Fatal(err)
	}
	k.find()
	left, err := os.ReadDir(k.where.Cache)
	if err != nil || len(left) != 2 || left[0].Name() != cacheName(k.programs()...) || left[1].Name() != "foreign.json" {
		t.Errorf("left: %v, %v", left, err)
	}
}

// An unfit ffmpeg is asked each time, since it can have been repaired.
func TestABadAnswerIsNotKept(t *testing.T) {
	k := newKept(t)
	t.Setenv("PUSHCUE_FAKE", "no ass")
	for range 2 {
		if tools, err := Find(t.Context(), k.where); err == nil {
			t.Fatalf("found %+v", tools)
		}
	}
	t.Setenv("PUSHCUE_FAKE", "")
	k.wantStarts(startsToAsk, "repaired")
}

// A run whose failure may come from another ffmpeg than the kept answer is about has it
// asked again.
func TestAFailureDropsTheAnswer(t *testing.T) {
	for _, test := range []struct {
		fake string
		run  func(*Tools) error
		drop bool
	}{
		{"unknown", do, true},
		{"half", do, true},
		{"no library", do, true},
		{"full", do, false},
		{"", do, false},
		{"no library", probeOwn, true},
		{"half", probeOwn, false}, // a broken recording fails alike
	} {
		k := newKept(t)
		tools, _ := k.find()
		t.Setenv("PUSHCUE_FAKE", test.fake)
		err := test.run(tools)
		want := 0
		if test.drop {
			want = startsToAsk
		}
		k.wantStarts(want, fmt.Sprintf("after %q, %v", test.fake, err))
	}
	k := newKept(t)
	tools, _ := k.find()
	tools.FFmpeg += ".gone"
	if err := do(tools); err == nil {
		t.Error("a missing program ran")
	}
	k.wantStarts(startsToAsk, "after a start that failed")
	tools, _ = k.find()
	stopped, stop := context.WithCancel(t.Context())
	stop()
	if _, err := tools.Do(stopped, Run{Args: []string{"x"}}); err != context.Canceled {
		t.Error(err)
	}
	k.wantStarts(0, "after a run that its user ended")
}

func do(tools *Tools) error {
	_, err := tools.Do(context.Background(), Run{Args: []string{"x"}})
	return err
}

// probeOwn asks about a file that isn't a text.
func probeOwn(tools *Tools) error {
	_, err := tools.Probe(context.Background(), tools.FFprobe, "recording")
	return err
}

// An ffprobe without its libraries says nothing about the recording.
func TestAnFFprobeThatDoesntRunIsNotTheRecordingsFault(t *testing.T) {
	tools, _ := fakeTools(t, "no library")
	var e *Error
	if err := probeOwn(tools); !errors.As(err, &e) || !strings.Contains(e.Text.String(), "doesn't run") || e.Hint.Empty() {
		t.Errorf("got %v", err)
	}
}

func TestSeveralFindsAtOnceAskOnce(t *testing.T) {
	k := newKept(t)
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() {
			if tools, err := Find(t.Context(), k.where); err != nil || tools.Version != "6.1.1" {
				t.Errorf("%+v, %v", tools, err)
			}
		})
	}
	all.Wait()
	if starts, err := os.ReadFile(k.log); err != nil || len(starts) != startsToAsk {
		t.Errorf("%d processes were started, %v", len(starts), err)
	}
}

// beFinder replaces the file of a cache again and again until its input ends.
func beFinder() int {
	path, programs := os.Args[1], os.Args[2:]
	over := make(chan struct{})
	go func() { os.Stdin.Read(make([]byte, 1)); close(over) }()
	for {
		if err := storeEntry(path, entry{questions(), programs, time.Now(), "6.1.1", "libx264", true, false}); err != nil {
			fmt.Println(err)
			return 1
		}
		select {
		case <-over:
			return 0
		default:
		}
	}
}

// Two processes that write at once: whoever reads finds one of their answers whole.
func TestProcessesThatWriteAtOnce(t *testing.T) {
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	finder := filepath.Join(t.TempDir(), program("finder"))
	if err := link(self, finder); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	path, programs := filepath.Join(dir, "ffmpeg-x.json"), []string{"ffmpeg", "ffprobe"}
	if err := storeEntry(path, entry{questions(), programs, time.Now(), "6.1.1", "libx264", true, false}); err != nil {
		t.Fatal(err)
	}
	var writers []*exec.Cmd
	var ends []interface{ Close() error }
	for range 2 {
		cmd := exec.Command(finder, append([]string{path}, programs...)...)
		cmd.Stdout, cmd.Stderr = os.Stdout, os.Stderr
		end, err := cmd.StdinPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		writers, ends = append(writers, cmd), append(ends, end)
	}
	first, _ := loadEntry(path, programs)
	for seen := map[time.Time]bool{}; len(seen) < 20; {
		e, ok := loadEntry(path, programs)
		if !ok {
			t.Error("an answer that isn't whole was read")
			break
		}
		if e.Asked != first.Asked {
			seen[e.Asked] = true
		}
	}
	for i, end := range ends {
		end.Close()
		if err := writers[i].Wait(); err != nil {
			t.Error(err)
		}
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) != 1 {
		t.Errorf("left: %v, %v", left, err)
	}
}
