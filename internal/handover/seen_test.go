package handover

import (
	"context"
	"encoding/json"
	"fmt"
	"image"
	"io"
	"math"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/testfootage"
	"pushcue/timeline"
	"pushcue/timeline/timecode"
)

// eachFrame shows what a video shows, in grey, frame by frame.
func eachFrame(t *testing.T, video string, look func(*image.Gray)) {
	t.Helper()
	tools := realTools(t)
	media, err := tools.Probe(context.Background(), video, filepath.Base(video))
	if err != nil {
		t.Fatal(err)
	}
	_, err = tools.Do(context.Background(), ffmpeg.Run{
		Args: []string{"-i", "file:" + video, "-map", "0:v:0", "-fps_mode", "passthrough", "-pix_fmt", "gray", "-f", "rawvideo", "pipe:1"},
		Stdout: func(r io.Reader) error {
			for {
				picture := image.NewGray(image.Rect(0, 0, media.Video.Width, media.Video.Height))
				if _, err := io.ReadFull(r, picture.Pix); err == io.EOF {
					return nil
				} else if err != nil {
					return err
				}
				look(picture)
			}
		},
	})
	if err != nil {
		t.Fatal(err)
	}
}

// numbers reads the number of every frame that a video shows, in order; -1 where
// none can be read.
func numbers(t *testing.T, video string) []int {
	t.Helper()
	return watch(t, video, 0).numbers
}

// A film is what was seen in a captioned video.
type film struct {
	numbers []int
	changes []int // frames on which the strip says something else than on the one before
}

// watch looks at a video whose picture is so many lines high, with a strip above.
func watch(t *testing.T, video string, lines int) film {
	t.Helper()
	const clearly = 80 // levels; what the encoder adds to a strip is a few
	var f film
	var before *image.Gray
	eachFrame(t, video, func(p *image.Gray) {
		n, ok := testfootage.ReadNumber(p)
		if !ok {
			n = -1
		}
		if lines > 0 && before != nil && apart(before.Pix, p.Pix[:(p.Rect.Dy()-lines)*p.Stride]) > clearly {
			f.changes = append(f.changes, len(f.numbers))
		}
		f.numbers = append(f.numbers, n)
		before = p
	})
	return f
}

// apart is the largest difference between two runs of pixels, of the shorter's length.
func apart(a, b []byte) int {
	most := 0
	for i := range min(len(a), len(b)) {
		most = max(most, int(a[i])-int(b[i]), int(b[i])-int(a[i]))
	}
	return most
}

// The camera of the exact jobs is pushed by 0.486 m a second, read off each half
// second: a straight line, so that what is shown at any time follows from it alone.
const metresASecond = 0.486

func steadyReadings() string {
	var b strings.Builder
	b.WriteString("video,distance\n")
	for i := range 40 {
		fmt.Fprintf(&b, "%.1f,%.3f m\n", float64(i)/2, metresASecond*float64(i)/2)
	}
	return b.String()
}

// distanceChanges are the frames, as far as the last reading, on which the distance
// shown, in tenths of a metre, changes.
func distanceChanges(t *testing.T, times []timecode.Video) []int {
	t.Helper()
	shown := func(at timecode.Video) float64 {
		tenths := 10 * metresASecond * at.Seconds()
		if math.Abs(tenths-math.Floor(tenths)-0.5) < 1e-6 {
			t.Fatalf("at %v s a distance lies midway between two tenths", at.Seconds())
		}
		return math.Round(tenths)
	}
	last := math.Floor(2*times[len(times)-1].Seconds()) / 2
	var changes []int
	for i := 1; i < len(times) && times[i].Seconds() <= last; i++ {
		if shown(times[i]) != shown(times[i-1]) {
			changes = append(changes, i)
		}
	}
	return changes
}

// timesAre compares the table of times with what the footage was made with, to the
// millisecond that some containers count in.
func timesAre(t *testing.T, specs []testfootage.Spec, times []timecode.Video) {
	t.Helper()
	var start timecode.Video
	i := 0
	for _, s := range specs {
		if s.Rate.Num == 0 {
			s.Rate = pal
		}
		of := s.Times()
		for _, at := range of {
			if off := times[i].Sub(start) - at; off < -time.Millisecond || off > time.Millisecond {
				t.Errorf("frame %d stands at %v, it was made for %v", i, times[i].Sub(start), at)
				return
			}
			i++
		}
		start += timecode.Video(of[len(of)-1]) + timecode.Video(int64(time.Second)*int64(s.Rate.Den)/int64(s.Rate.Num))
	}
}

// A packet of a video, in the order of showing.
type packet struct {
	at  timecode.Video
	key bool
}

func packetsOf(t *testing.T, video string) []packet {
	t.Helper()
	var packets []packet
	for line := range strings.Lines(probed(t, video, "-select_streams", "v", "-show_entries", "packet=pts_time,flags", "-of", "csv=p=0")) {
		at, flags, _ := strings.Cut(strings.TrimSpace(line), ",")
		s, err := strconv.ParseFloat(at, 64)
		if err != nil {
			t.Fatalf("%s: %q", video, line)
		}
		packets = append(packets, packet{timecode.VideoSeconds(s), strings.HasPrefix(flags, "K")})
	}
	slices.SortFunc(packets, func(a, b packet) int { return int(a.at - b.at) })
	return packets
}

// chaptersOf are the moments that a player's list of chapters jumps to.
func chaptersOf(t *testing.T, video string) []timecode.Video {
	t.Helper()
	var list struct {
		Chapters []struct {
			Start string `json:"start_time"`
		}
	}
	if err := json.Unmarshal([]byte(probed(t, video, "-show_chapters", "-of", "json")), &list); err != nil {
		t.Fatal(err)
	}
	var starts []timecode.Video
	for _, c := range list.Chapters {
		s, err := strconv.ParseFloat(c.Start, 64)
		if err != nil {
			t.Fatal(err)
		}
		starts = append(starts, timecode.VideoSeconds(s))
	}
	return starts
}

// lasts compares a video's length with what it shows of the recording. Sound that was
// copied may go on for the rest of its last frame.
func lasts(t *testing.T, video string, from, until timecode.Video) {
	t.Helper()
	off := 0.0015
	if strings.Contains(probed(t, video, "-show_entries", "stream=codec_type", "-of", "csv=p=0"), "audio") {
		off += 1024.0 / 48000
	}
	text := strings.TrimSpace(probed(t, video, "-show_entries", "format=duration", "-of", "csv=p=0"))
	long, err := strconv.ParseFloat(text, 64)
	if want := until.Sub(from).Seconds(); err != nil || math.Abs(long-want) > off {
		t.Errorf("%s lasts %s s, want %.3f s", filepath.Base(video), text, want)
	}
}

// until is when a frame of a recording leaves the screen.
func until(rec timeline.Recording, frame int) timecode.Video {
	if frame+1 < len(rec.Frames) {
		return rec.Frames[frame+1]
	}
	return rec.End
}

func probed(t *testing.T, video string, args ...string) string {
	t.Helper()
	out, err := exec.Command("ffprobe", append(append([]string{"-v", "error"}, args...), "file:"+video)...).Output()
	if err != nil {
		t.Fatalf("%s: %v", video, err)
	}
	return string(out)
}

// startsPart reports a frame that no excerpt reaches beyond.
func startsPart(rec timeline.Recording, frame int) bool {
	return slices.ContainsFunc(rec.Parts, func(p timeline.Part) bool { return p.First == frame })
}

func anyWithin(times []timecode.Video, from, until timecode.Video) bool {
	for _, v := range times {
		// SubRip counts milliseconds.
		if v >= from-1_000_000 && v <= until {
			return true
		}
	}
	return false
}

var cueLine = regexp.MustCompile(`(?m)^(\d+):(\d+):(\d+),(\d+) -->`)

func cueStarts(t *testing.T, srt string) []timecode.Video {
	t.Helper()
	var starts []timecode.Video
	for _, m := range cueLine.FindAllStringSubmatch(content(t, srt), -1) {
		v, _, _, err := timecode.ParseVideo(strings.Join(m[1:4], ":") + "." + m[4])
		if err != nil {
			t.Fatal(err)
		}
		starts = append(starts, v)
	}
	return starts
}
