package handover

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"image"
	"io"
	"math"
	"os"
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

// eachFrame shows what some videos show, in grey, frame by frame: one run of ffmpeg
// decodes all of them.
func eachFrame(t *testing.T, videos []string, look func(video int, picture *image.Gray)) {
	t.Helper()
	dir := t.TempDir()
	decoded := func(i int) string { return filepath.Join(dir, strconv.Itoa(i)) }
	var inputs, outputs []string
	for i, video := range videos {
		inputs = append(inputs, "-i", "file:"+video)
		outputs = append(outputs, "-map", fmt.Sprintf("%d:v:0", i), "-fps_mode", "passthrough", "-pix_fmt", "gray", "-c:v", "pgm", "-f", "image2pipe", "file:"+decoded(i))
	}
	if _, err := realTools(t).Do(context.Background(), ffmpeg.Run{Args: append(inputs, outputs...), Sources: testfootage.Inputs(inputs)}); err != nil {
		t.Fatal(err)
	}
	for i := range videos {
		f, err := os.Open(decoded(i))
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		for r := bufio.NewReader(f); ; {
			picture, err := nextPGM(r)
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatal(err)
			}
			look(i, picture)
		}
	}
}

// nextPGM reads the next of the pictures that stand one behind the other; io.EOF at the
// end. The form is that of Netpbm's PGM, as ffmpeg writes it.
func nextPGM(r *bufio.Reader) (*image.Gray, error) {
	if _, err := r.Peek(1); err != nil {
		return nil, err
	}
	var width, height, most int
	if _, err := fmt.Fscanf(r, "P5\n%d %d\n%d\n", &width, &height, &most); err != nil {
		return nil, err
	}
	picture := image.NewGray(image.Rect(0, 0, width, height))
	_, err := io.ReadFull(r, picture.Pix)
	return picture, err
}

// numbers reads the number of every frame that a video shows, in order; -1 where
// none can be read.
func numbers(t *testing.T, video string) []int {
	t.Helper()
	return watch(t, 0, video)[0].numbers
}

// A film is what was seen in a captioned video.
type film struct {
	numbers []int
	changes []int // frames on which the strip says something else than on the one before
}

// watch looks at videos whose pictures are so many lines high, with a strip above; 0
// where the strip isn't to be looked at.
func watch(t *testing.T, lines int, videos ...string) []film {
	t.Helper()
	const clearly = 110 // levels; another digit is 145 and more, what the encoder adds to a strip a few
	films := make([]film, len(videos))
	before := make([]*image.Gray, len(videos))
	eachFrame(t, videos, func(i int, p *image.Gray) {
		f := &films[i]
		n, ok := testfootage.ReadNumber(p)
		if !ok {
			n = -1
		}
		if b := before[i]; lines > 0 && b != nil && apart(b.Pix, p.Pix[:(p.Rect.Dy()-lines)*p.Stride]) > clearly {
			f.changes = append(f.changes, len(f.numbers))
		}
		f.numbers = append(f.numbers, n)
		before[i] = p
	})
	return films
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

// A packet of a video.
type packet struct {
	at, decoded timecode.Video
	long        timecode.Video
	key         bool
}

// A probed is what ffprobe tells of a video.
type probed struct {
	file     string
	packets  []packet         // of its pictures, in the order of showing
	chapters []timecode.Video // the moments that a player's list of chapters jumps to
	long     float64          // seconds
	picture  probedStream
	sound    *probedStream
}

type probedStream struct {
	Index   int
	Kind    string `json:"codec_type"`
	Codec   string `json:"codec_name"`
	Profile string
	Level   int
	Pixels  string `json:"pix_fmt"`
	Shape   string `json:"sample_aspect_ratio"`
	Fields  string `json:"field_order"`
	Range   string `json:"color_range"`
	Rate    string `json:"r_frame_rate"`
	Samples string `json:"sample_rate"`
}

// probeOf asks ffprobe all that these tests want to know of a video at once.
func probeOf(t *testing.T, video string) probed {
	t.Helper()
	var answer struct {
		Packets []struct {
			Stream  int    `json:"stream_index"`
			At      string `json:"pts_time"`
			Decoded string `json:"dts_time"`
			Long    string `json:"duration_time"`
			Flags   string
		}
		Chapters []struct {
			Start string `json:"start_time"`
		}
		Streams []probedStream
		Format  struct{ Duration string }
	}
	out, err := exec.Command("ffprobe", "-v", "error", "-of", "json", "-show_packets", "-show_chapters", "-show_streams", "-show_format", "file:"+video).Output()
	if err == nil {
		err = json.Unmarshal(out, &answer)
	}
	if err != nil {
		t.Fatalf("%s: %v", video, err)
	}
	seconds := func(text string) float64 {
		s, err := strconv.ParseFloat(text, 64)
		if err != nil {
			t.Fatalf("%s: %q is no number of seconds", video, text)
		}
		return s
	}
	v := probed{file: video, long: seconds(answer.Format.Duration)}
	for i, s := range answer.Streams {
		switch s.Kind {
		case "video":
			v.picture = s
		case "audio":
			v.sound = &answer.Streams[i]
		}
	}
	for _, p := range answer.Packets {
		if p.Stream == v.picture.Index {
			v.packets = append(v.packets, packet{timecode.VideoSeconds(seconds(p.At)), timecode.VideoSeconds(seconds(p.Decoded)), timecode.VideoSeconds(seconds(p.Long)), strings.HasPrefix(p.Flags, "K")})
		}
	}
	slices.SortFunc(v.packets, func(a, b packet) int { return int(a.at - b.at) })
	for _, c := range answer.Chapters {
		v.chapters = append(v.chapters, timecode.VideoSeconds(seconds(c.Start)))
	}
	return v
}

// lasts compares a video's length with what it shows of the recording. Sound that was
// copied may go on for the rest of its last frame.
func (v probed) lasts(t *testing.T, from, until timecode.Video) {
	t.Helper()
	off := 0.0015
	if v.sound != nil {
		off += 1024.0 / 48000
	}
	if want := until.Sub(from).Seconds(); math.Abs(v.long-want) > off {
		t.Errorf("%s lasts %.4f s, want %.3f s", filepath.Base(v.file), v.long, want)
	}
}

// playsAnywhere holds a captioned video against what phones, TVs and browsers ask of
// one; its rate is that of the recording, where that has one.
func (v probed) playsAnywhere(t *testing.T, rate timecode.Rate) {
	t.Helper()
	want := probedStream{Index: v.picture.Index, Kind: "video", Codec: "h264", Profile: "High", Level: 41, Pixels: "yuv420p", Shape: "1:1", Fields: "progressive", Range: "tv", Rate: fmt.Sprintf("%d/%d", rate.Num, rate.Den)}
	if rate.Num == 0 {
		want.Rate = v.picture.Rate
	}
	if v.picture != want {
		t.Errorf("its pictures are %+v, want %+v", v.picture, want)
	}
	if s := v.sound; s != nil && (s.Codec != "aac" || s.Profile != "LC" || s.Samples != "48000") {
		t.Errorf("its sound is %+v, want AAC LC at 48,000 samples a second", *s)
	}
	whole := content(t, v.file)
	if index, media := strings.Index(whole, "moov"), strings.Index(whole, "mdat"); index < 0 || index > media {
		t.Errorf("the index stands at %d, behind the pictures at %d", index, media)
	}
}

// until is when a frame of a recording leaves the screen.
func until(rec timeline.Recording, frame int) timecode.Video {
	if frame+1 < len(rec.Frames) {
		return rec.Frames[frame+1]
	}
	return rec.End
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
