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
	"testing"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/testfootage"
	"pushcue/timeline/timecode"
)

func tools(t testing.TB) *ffmpeg.Tools {
	t.Helper()
	if os.Getenv("PUSHCUE_TEST_SHORT") != "" {
		t.Skip("PUSHCUE_TEST_SHORT is set")
	}
	found, err := ffmpeg.Find(context.Background(), ffmpeg.Where{Cache: ffmpeg.UserCache()})
	if err != nil {
		t.Fatalf("these tests need ffmpeg 5.1 or newer: %v", err)
	}
	return found
}

func open(t testing.TB, paths ...string) *Recording {
	t.Helper()
	names := make([]string, len(paths))
	for i, p := range paths {
		names[i] = filepath.Base(p)
	}
	r, err := Open(context.Background(), tools(t), paths, names, Options{})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// A passed is what a run over the joined recording gave.
type passed struct {
	numbers []int            // that the pictures carry, in order; -1 where none was read
	at      []timecode.Video // their times, to the microsecond
	samples int              // of sound
}

// pass runs once over the joined recording.
func pass(t testing.TB, r *Recording, sound bool) passed {
	t.Helper()
	j := r.Joined(sound)
	branches := j.Video.Split()
	dir := t.TempDir()
	list, wave := filepath.Join(dir, "times"), filepath.Join(dir, "sound")
	outputs := []*ff.Stream{
		ffmpeg.OutputPipe([]*ff.Stream{branches.Get("0")}, OutputArgs(), ff.KwArgs{"f": "rawvideo", "pix_fmt": "gray"}),
		ffmpeg.Output([]*ff.Stream{branches.Get("1")}, list, ff.KwArgs{"fps_mode": "passthrough", "enc_time_base": "1:1000000", "f": "framecrc", "c:v": "wrapped_avframe"}),
	}
	if j.Sound != nil {
		outputs = append(outputs, ffmpeg.Output([]*ff.Stream{j.Sound}, wave, ff.KwArgs{"f": "s16le", "ac": 1}))
	}
	var p passed
	_, err := tools(t).Do(context.Background(), ffmpeg.Run{Outputs: outputs, Stdout: func(in io.Reader) error {
		return eachPicture(in, r.Width, r.Height, func(img image.Image) {
			n, ok := testfootage.ReadNumber(img)
			if !ok {
				n = -1
			}
			p.numbers = append(p.numbers, n)
		})
	}})
	if err != nil {
		t.Fatal(err)
	}
	p.at = listed(t, list)
	if j.Sound != nil {
		info, err := os.Stat(wave)
		if err != nil {
			t.Fatal(err)
		}
		p.samples = int(info.Size() / 2)
	}
	return p
}

func eachPicture(in io.Reader, width, height int, each func(image.Image)) error {
	for {
		img := image.NewGray(image.Rect(0, 0, width, height))
		if _, err := io.ReadFull(in, img.Pix); err == io.EOF {
			return nil
		} else if err != nil {
			return err
		}
		each(img)
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
