package frames

import (
	"bufio"
	"bytes"
	"context"
	"image"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"sync"
	"testing"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/reach"
	"pushcue/internal/testfootage"
	"pushcue/timeline/timecode"
)

// findTools looks for ffmpeg once.
var findTools = sync.OnceValues(func() (*ffmpeg.Tools, error) {
	return ffmpeg.Find(context.Background(), ffmpeg.Where{Cache: ffmpeg.UserCache()})
})

func tools(t testing.TB) *ffmpeg.Tools {
	t.Helper()
	if os.Getenv("PUSHCUE_TEST_SHORT") != "" {
		t.Skip("PUSHCUE_TEST_SHORT is set")
	}
	found, err := findTools()
	if err != nil {
		t.Fatalf("these tests need ffmpeg 5.1 or newer: %v", err)
	}
	return found
}

func open(t testing.TB, paths ...string) *Recording {
	t.Helper()
	r, err := Open(context.Background(), tools(t), named(paths...), Options{})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// named are files as a person names them.
func named(paths ...string) (all []*reach.Source) {
	for _, path := range paths {
		all = append(all, reach.Named(path, filepath.Base(path)))
	}
	return all
}

// opened opens each recording of footage once, for all tests that only read it.
var opened = func() map[string]func() (*Recording, error) {
	all := map[string]func() (*Recording, error){}
	for name, spec := range footage {
		all[name] = sync.OnceValues(func() (*Recording, error) {
			path, err := testfootage.Make(context.Background(), spec)
			if err != nil {
				return nil, err
			}
			found, err := findTools()
			if err != nil {
				return nil, err
			}
			return Open(context.Background(), found, named(path), Options{})
		})
	}
	return all
}()

// shared returns a recording of footage, opened.
func shared(t testing.TB, name string) *Recording {
	t.Helper()
	tools(t) // fails with the reason where there is no ffmpeg
	r, err := opened[name]()
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// A passed is what one run over the joined recording gave.
type passed struct {
	numbers []int            // that the pictures carry, in order; -1 where none was read
	at      []timecode.Video // their times, to the microsecond
	samples int              // of sound
	stills  map[int]Still    // by the ID of what was wanted
}

// pass runs once over the joined recording and takes the wanted stills on the way, as a burn does.
func pass(t testing.TB, r *Recording, sound bool, wants ...Want) passed {
	t.Helper()
	j := r.Joined(sound)
	dir := t.TempDir()
	pictures, list, wave := filepath.Join(dir, "pictures"), filepath.Join(dir, "times"), filepath.Join(dir, "sound")
	branches := j.Video.Split()
	// The middle half of the picture holds its number.
	middle := branches.Get("0").Filter("crop", ff.Args{"iw", "floor(ih/8)*4"})
	outputs := []*ff.Stream{
		ffmpeg.Output([]*ff.Stream{middle}, pictures, OutputArgs(), ff.KwArgs{"f": "rawvideo", "pix_fmt": "gray"}),
		ffmpeg.Output([]*ff.Stream{branches.Get("1")}, list, ff.KwArgs{"fps_mode": "passthrough", "enc_time_base": "1:1000000", "f": "framecrc", "c:v": "wrapped_avframe"}),
	}
	if j.Sound != nil {
		outputs = append(outputs, ffmpeg.Output([]*ff.Stream{j.Sound}, wave, ff.KwArgs{"f": "s16le", "ac": 1}))
	}
	p := passed{stills: map[int]Still{}}
	run := ffmpeg.Run{Outputs: outputs, Sources: r.Sources()}
	if len(wants) > 0 {
		picker := r.NewPicker(wants, dir)
		run.Outputs = append(run.Outputs, ffmpeg.OutputPipe([]*ff.Stream{picker.Graph(branches.Get("2"))}, picker.OutputArgs()))
		run.Stdout = func(in io.Reader) error {
			return picker.Read(context.Background(), in, func(s Still) error { p.stills[s.ID] = s; return nil })
		}
	}
	if _, err := tools(t).Do(context.Background(), run); err != nil {
		t.Fatal(err)
	}
	p.numbers, p.at = numbers(t, pictures, r.Width, r.Height/8*4), listed(t, list)
	if j.Sound != nil {
		info, err := os.Stat(wave)
		if err != nil {
			t.Fatal(err)
		}
		p.samples = int(info.Size() / 2)
	}
	return p
}

// numbers reads the number that each raw grey picture of a file carries.
func numbers(t testing.TB, path string, width, height int) (all []int) {
	t.Helper()
	in, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	img := image.NewGray(image.Rect(0, 0, width, height))
	for {
		if _, err := io.ReadFull(in, img.Pix); err == io.EOF {
			return all
		} else if err != nil {
			t.Fatal(err)
		}
		n, ok := testfootage.ReadNumber(img)
		if !ok {
			n = -1
		}
		all = append(all, n)
	}
}

// listed reads the times that ffmpeg's framecrc wrote, in microseconds.
func listed(t testing.TB, path string) (at []timecode.Video) {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(bytes.NewReader(b))
	for lines.Scan() {
		fields := bytes.Split(lines.Bytes(), []byte(","))
		if len(fields) < 6 || lines.Bytes()[0] == '#' {
			continue
		}
		n, err := strconv.ParseInt(string(bytes.TrimSpace(fields[2])), 10, 64)
		if err != nil {
			t.Fatal(err)
		}
		at = append(at, timecode.Video(n*1000))
	}
	return at
}
