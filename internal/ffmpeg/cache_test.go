package ffmpeg

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"pushcue/internal/reach"
	"pushcue/internal/safefile"
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

func TestAChangedProgramIsAskedAgain(t *testing.T) {
	k := newKept(t)
	k.wantStarts(startsToAsk, "the first time")
	for _, path := range k.programs() {
		self, err := os.Executable()
		if err != nil {
			t.Fatal(err)
		}
		if err := errors.Join(os.Rename(path, path+".old"), link(self, path)); err != nil {
			t.Fatal(err)
		}
		k.wantStarts(startsToAsk, "another link at "+filepath.Base(path))
		k.wantStarts(0, "as it was")
	}
}

// Each property of a program's file tells two of them apart, alone.
func TestWhatIdentifiesAProgram(t *testing.T) {
	dir := t.TempDir()
	path, beside, leading := filepath.Join(dir, "ffmpeg"), filepath.Join(dir, "ffprobe"), filepath.Join(dir, "link")
	at := time.Now().Add(-time.Hour).Truncate(time.Second)
	later := at.Add(time.Second)
	write := func(path, text string, at time.Time) error {
		return errors.Join(os.WriteFile(path, []byte(text), 0o700), os.Chtimes(path, at, at))
	}
	if err := errors.Join(write(path, "one", at), write(beside, "one", at)); err != nil {
		t.Fatal(err)
	}
	programs := []string{path, beside}
	if err := os.Symlink(path, leading); err == nil { // Windows lets few users make links
		programs = []string{leading, beside}
	}
	was, err := identities(programs...)
	if err != nil {
		t.Fatal(err)
	}
	if again, err := identities(programs...); err != nil || !slices.Equal(was, again) {
		t.Errorf("unchanged: %q, then %q, %v", was, again, err)
	}
	for _, changed := range []string{path, beside} {
		for _, change := range []struct {
			what string
			how  func() error
		}{
			{"time", func() error { return os.Chtimes(changed, later, later) }},
			{"size", func() error { return write(changed, "three", later) }},
			{"file number", func() error { // the old file stays, so that its number isn't used again
				return errors.Join(os.Rename(changed, changed+".old"), write(changed, "three", later))
			}},
		} {
			if err := change.how(); err != nil {
				t.Fatal(err)
			}
			now, err := identities(programs...)
			if err != nil || slices.Equal(was, now) {
				t.Errorf("%s of another %s: still %q, %v", filepath.Base(changed), change.what, now, err)
			}
			was = now
		}
	}
	if err := os.Remove(beside); err != nil {
		t.Fatal(err)
	}
	if now, err := identities(programs...); err == nil {
		t.Errorf("a missing program has the identity %q", now)
	}
}

func TestOtherLibrariesAreSeen(t *testing.T) {
	k := newKept(t)
	loader := filepath.Join(t.TempDir(), "ld.so.cache")
	defer func(was []string) { watched = was }(watched)
	watched = []string{loader}
	was := []string{}
	for _, change := range []func(){
		func() {},
		func() { os.WriteFile(loader, []byte("libavcodec 59"), 0o600) },
		func() { os.WriteFile(loader, []byte("libavcodec 59.1"), 0o600) },
		func() { t.Setenv("LD_LIBRARY_PATH", t.TempDir()) },
	} {
		change()
		now, err := identities(k.programs()...)
		if err != nil || slices.Equal(was, now) {
			t.Errorf("other libraries: still %q, %v", now, err)
		}
		was = now
	}
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
	programs, err := identities(k.programs()...)
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
		if e, ok := loadEntry(path, programs); ok {
			t.Errorf("%s was taken: %+v", name, e)
		}
	}
	// They are refused for what was changed, and for nothing else.
	if err := os.WriteFile(path, with(func(*entry) {}), 0o600); err != nil {
		t.Fatal(err)
	}
	if e, ok := loadEntry(path, programs); !ok {
		t.Errorf("unchanged, it was refused: %+v", e)
	}
	if err := os.WriteFile(path, good[:len(good)/2], 0o600); err != nil {
		t.Fatal(err)
	}
	k.wantStarts(startsToAsk, "with half an answer")
	k.wantStarts(0, "after half an answer")
	if err := errors.Join(os.Remove(path), os.Mkdir(path, 0o700)); err != nil {
		t.Fatal(err)
	}
	k.wantStarts(startsToAsk, "a folder in its place")
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
	k := newKept(t)
	tools, _ := k.find()
	path := k.file()
	answer, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	gone := *tools
	gone.FFmpeg += ".gone"
	gone.kept = path
	for _, test := range []struct {
		what, fake string
		tools      *Tools
		run        func(*Tools) error
		drop       bool
	}{
		{"an encoder that isn't there", "unknown", tools, do, true},
		{"any failure", "half", tools, do, true},
		{"a library that isn't there", "no library", tools, do, true},
		{"a program that isn't there", "", &gone, do, true},
		{"a full drive", "full", tools, do, false},
		{"no failure", "", tools, do, false},
		{"stopped by its user", "", tools, doStopped, false},
		{"a broken recording", "damaged", tools, probeOwn, false},
		{"an ffprobe that fails on everything", "half", tools, probeOwn, true},
		{"ffprobe without its library", "no library", tools, probeOwn, true},
		{"ffprobe without its library, reading packets", "no library", tools, readPackets, true},
		{"ffmpeg without its library, reading through", "no library", tools, readThrough, true},
	} {
		if err := os.WriteFile(path, answer, 0o600); err != nil {
			t.Fatal(err)
		}
		t.Setenv("PUSHCUE_FAKE", test.fake)
		err := test.run(test.tools)
		if _, missing := os.Stat(path); (missing != nil) != test.drop {
			t.Errorf("%s (%v): dropped %v, want %v", test.what, err, missing != nil, test.drop)
		}
	}
	k.wantStarts(startsToAsk, "after the answer was dropped")
}

func doStopped(tools *Tools) error {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	_, err := tools.Do(ctx, Run{Args: []string{"x"}})
	return err
}

func readPackets(tools *Tools) error {
	_, err := tools.Packets(context.Background(), &Media{Source: reach.Named(tools.FFprobe, "recording")}, 0, func(Packet) error { return nil })
	return err
}

func readThrough(tools *Tools) error {
	_, _, err := tools.ReadThrough(context.Background(), &Media{Source: reach.Named(tools.FFprobe, "recording")}, 0)
	return err
}

func do(tools *Tools) error {
	_, err := tools.Do(context.Background(), Run{Args: []string{"x"}})
	return err
}

// probeOwn asks about a file that isn't a text.
func probeOwn(tools *Tools) error {
	_, err := tools.Probe(context.Background(), reach.Named(tools.FFprobe, "recording"))
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
	var ends []io.Closer
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

// link makes the program at path one at another place too.
func link(path, at string) error {
	dir, err := safefile.Open(filepath.Dir(at))
	if err != nil {
		return err
	}
	defer dir.Close()
	return dir.LinkTo(filepath.Base(at), path)
}
