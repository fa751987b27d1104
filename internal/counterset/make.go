package counterset

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"time"

	"pushcue/internal/footage"
	"pushcue/internal/testfootage"
)

// edition changes when the set does.
const edition = 1

// drawnEdition changes when what can be drawn does.
const drawnEdition = 2

// Length of each recording in seconds.
const Length = 50

type format struct {
	width, height int
	rate          float64
	interlaced    bool
}

var formats = map[string]format{
	"":      {352, 288, 12.5, false},
	"large": {640, 480, 10, false},
	"laced": {352, 288, 12, true}, // MPEG-2 knows no 12.5
}

// Make makes what of the set isn't in the folder yet, and tells the truth of all.
func Make(ctx context.Context, folder string) ([]Recording, error) {
	s := set{filepath.Join(folder, fmt.Sprintf("edition-%d", edition)), samples, groupOf, push}
	return s.make(ctx)
}

// Draw makes a set of so many recordings whose looks are drawn by chance: none is
// chosen to suit a reader, and the same seed draws the same ones.
func Draw(ctx context.Context, folder string, seed uint64, count int) ([]Recording, error) {
	s := set{
		folder:  filepath.Join(folder, fmt.Sprintf("drawn-%d-%d-%d", drawnEdition, seed, count)),
		samples: drawn(seed, count),
		groupOf: func(int) Group { return Drawn },
		push:    func(Group) footage.Scene { return pushFrom(drawnPushes + seed) },
	}
	return s.make(ctx)
}

// A set is recordings in the making.
type set struct {
	folder  string
	samples []sample
	groupOf func(index int) Group
	push    func(Group) footage.Scene
}

func (s *set) make(ctx context.Context) ([]Recording, error) {
	if err := os.MkdirAll(s.folder, 0o755); err != nil {
		return nil, err
	}
	for _, group := range Groups {
		for name := range formats {
			if err := s.film(ctx, group, name); err != nil {
				return nil, err
			}
		}
	}
	all := make([]Recording, len(s.samples))
	for i, sample := range s.samples {
		text, err := os.ReadFile(s.truthPath(i))
		if err != nil {
			return nil, err
		}
		if err := json.Unmarshal(text, &all[i]); err != nil {
			return nil, err
		}
		all[i].Path, all[i].Group = s.moviePath(i), s.groupOf(i)
		all[i].Metres = make([]float64, len(all[i].Shown))
		for k, shown := range all[i].Shown {
			all[i].Metres[k] = sample.read(shown)
		}
	}
	return all, nil
}

func (s *set) moviePath(i int) string {
	ending := "mp4"
	switch s.samples[i].codec {
	case "mpeg2":
		ending = "mpg"
	case "mjpeg":
		ending = "avi"
	}
	return filepath.Join(s.folder, fmt.Sprintf("%02d.%s", i, ending))
}

func (s *set) truthPath(i int) string {
	return filepath.Join(s.folder, fmt.Sprintf("%02d.json", i))
}

// film paints one group's push in one format once, and lets every recorder that
// is still missing take it.
func (s *set) film(ctx context.Context, group Group, name string) error {
	missing := s.missing(group, name)
	if len(missing) == 0 {
		return nil
	}
	scene, f := s.push(group), formats[name]
	bare, err := footage.NewShoot(scene, footage.Recorder{Width: f.width, Height: f.height, Rate: f.rate, Interlaced: f.interlaced, To: Length})
	if err != nil {
		return err
	}
	var takes []*take
	for _, i := range missing {
		t, err := s.samples[i].take(ctx, bare, f, s.moviePath(i))
		if err != nil {
			return fmt.Errorf("%s: %w", s.samples[i].name, err)
		}
		t.index = i
		takes = append(takes, t)
	}
	for bare.Next() {
		for _, t := range takes {
			t.shoot.Take(bare)
			if _, err := t.into.Write(t.shoot.Frame()); err != nil {
				break // its encoder has ended, and says why
			}
		}
	}
	for _, t := range takes {
		t.into.Close()
		if err := <-t.done; err != nil {
			return fmt.Errorf("%s: %w", t.sample.name, err)
		}
		text, err := json.Marshal(t.truth(f))
		if err == nil {
			err = os.WriteFile(s.truthPath(t.index), text, 0o644)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// missing are the recordings of a group, in a format, that aren't made yet.
func (s *set) missing(group Group, format string) (all []int) {
	for i := range s.samples {
		if s.groupOf(i) != group || s.samples[i].format != format {
			continue
		}
		if _, err := os.Stat(s.truthPath(i)); err != nil {
			all = append(all, i)
		}
	}
	return all
}

// A take is one recording in the making.
type take struct {
	index  int
	sample sample
	shoot  *footage.Shoot
	into   *io.PipeWriter
	done   chan error
}

func (s sample) take(ctx context.Context, bare *footage.Shoot, f format, path string) (*take, error) {
	shoot, err := bare.Again(s.recorder(f))
	if err != nil {
		return nil, err
	}
	from, into := io.Pipe()
	t := &take{sample: s, shoot: shoot, into: into, done: make(chan error, 1)}
	args := []string{"-threads", "1", "-f", "rawvideo", "-pix_fmt", "yuv420p", "-s", fmt.Sprintf("%dx%d", f.width, f.height),
		"-r", fmt.Sprint(f.rate), "-i", "pipe:0"}
	switch s.codec {
	case "mpeg2":
		args = append(args, "-c:v", "mpeg2video", "-b:v", "1500k", "-g", "12", "-bf", "2", "-strict", "unofficial", "-flags", "+ilme+ildct", "-top", "1")
	case "mjpeg":
		args = append(args, "-c:v", "mjpeg", "-q:v", "5", "-pix_fmt", "yuvj420p")
	default:
		args = append(args, "-c:v", "libx264", "-preset", "veryfast", "-threads", "1", "-crf", fmt.Sprint(s.crf), "-g", "25", "-bf", "2")
	}
	args = append(args, path)
	go func() {
		err := testfootage.Encode(ctx, func(w io.Writer) error {
			_, err := io.Copy(w, from)
			return err
		}, args...)
		from.CloseWithError(err)
		t.done <- err
	}()
	return t, nil
}

func (s sample) recorder(f format) footage.Recorder {
	scaled := func(l footage.Look) footage.Look {
		l.Name = s.name
		l.Height = int(math.Round(float64(l.Height) * 480 / float64(f.height)))
		return l
	}
	r := footage.Recorder{Tape: s.tape}
	if s.kind != None {
		r.Counter = &footage.Counter{Look: scaled(s.look), Zero: s.zero, Slip: s.slip, Lag: 0.3, Rezero: s.rezero, Blank: s.blank, Every: s.every}
	}
	for _, g := range s.gauges {
		g.Look = scaled(g.Look)
		r.Gauges = append(r.Gauges, g)
	}
	if s.clock != "" {
		c := &footage.Clock{At: time.Date(2024, 3, 9, 11, 58, 41, 0, time.UTC), Elapsed: s.clock == "elapsed"}
		c.Format = map[string]string{"time": "15:04:05", "seconds": "05", "dotted": "04.05",
			"tenths": "05.0", "minutes": "15:04", "words": "mft 88-9", "number": "88.8m"}[s.clock]
		if s.clockAt.Face != "" {
			c.Look = scaled(s.clockAt)
		} else {
			c.Look = footage.ClockLook
			c.Look.Height = int(math.Round(14 * 480 / float64(f.height)))
			if s.look.Right && s.look.Y < .2 || !s.look.Right && s.look.Y < .2 {
				c.Look.Y = .90
			}
		}
		r.Clock = c
	}
	return r
}

func (t *take) truth(f format) Recording {
	s := t.sample
	r := Recording{Name: s.name, Index: t.index, Kind: s.kind, Rate: f.rate, Width: f.width, Height: f.height, Rezeroed: s.rezero, Clock: s.clock != ""}
	for _, frame := range t.shoot.Truth().Frames {
		r.Shown = append(r.Shown, frame.Shown)
		r.Where = append(r.Where, frame.Distance)
		r.Stands = append(r.Stands, frame.Stands)
	}
	return r
}

// push is one group's push: strokes of a person who looks at things, goes back to
// some, and is at 10 m or more before the end.
func push(group Group) footage.Scene {
	scene := pushFrom(uint64(group))
	if group == Known {
		scene.Pipe.Material, scene.Pipe.Joints = "concrete", 1
	}
	return scene
}

func pushFrom(seed uint64) footage.Scene {
	scene := footage.House(40 + seed)
	scene.Van = 1.5
	r := rand.New(rand.NewPCG(seed, 17))
	at, left := 0.0, Length-3.0
	scene.Moves = []footage.Move{{For: 3, To: 0}}
	for left > 0 {
		push := 3 + 4*r.Float64()
		at = min(at+push*(0.28+0.25*r.Float64()), 14.8)
		stand := 1.5 + 2.5*r.Float64()
		scene.Moves = append(scene.Moves, footage.Move{For: push, To: at}, footage.Move{For: stand, To: at})
		left -= push + stand
		if r.Float64() < 0.35 {
			at -= 0.3 + 0.6*r.Float64()
			scene.Moves = append(scene.Moves, footage.Move{For: 2, To: at}, footage.Move{For: 2, To: at})
			left -= 4
		}
	}
	return scene
}
