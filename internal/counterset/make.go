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
	folder = filepath.Join(folder, fmt.Sprintf("edition-%d", edition))
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return nil, err
	}
	for group := range groups {
		for name := range formats {
			if err := film(ctx, folder, group, name); err != nil {
				return nil, err
			}
		}
	}
	all := make([]Recording, len(samples))
	for i := range samples {
		text, err := os.ReadFile(truthPath(folder, i))
		if err != nil {
			return nil, err
		}
		if err := json.Unmarshal(text, &all[i]); err != nil {
			return nil, err
		}
		all[i].Path = moviePath(folder, i)
		all[i].Metres = make([]float64, len(all[i].Shown))
		for k, s := range all[i].Shown {
			all[i].Metres[k] = samples[i].read(s)
		}
	}
	return all, nil
}

func moviePath(folder string, i int) string {
	ending := "mp4"
	switch samples[i].codec {
	case "mpeg2":
		ending = "mpg"
	case "mjpeg":
		ending = "avi"
	}
	return filepath.Join(folder, fmt.Sprintf("%02d.%s", i, ending))
}

func truthPath(folder string, i int) string {
	return filepath.Join(folder, fmt.Sprintf("%02d.json", i))
}

// film paints one group's push in one format once, and lets every recorder that
// is still missing take it.
func film(ctx context.Context, folder string, group Group, name string) error {
	scene, f := push(group), formats[name]
	bare, err := footage.NewShoot(scene, footage.Recorder{Width: f.width, Height: f.height, Rate: f.rate, Interlaced: f.interlaced, To: Length})
	if err != nil {
		return err
	}
	var takes []*take
	for i, s := range samples {
		if groupOf(i) != group || s.format != name {
			continue
		}
		if _, err := os.Stat(truthPath(folder, i)); err == nil {
			continue
		}
		t, err := s.take(ctx, bare, f, moviePath(folder, i))
		if err != nil {
			return fmt.Errorf("%s: %w", s.name, err)
		}
		t.index = i
		takes = append(takes, t)
	}
	if len(takes) == 0 {
		return nil
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
			return fmt.Errorf("%s: %w", samples[t.index].name, err)
		}
		text, err := json.Marshal(t.truth(scene, f))
		if err == nil {
			err = os.WriteFile(truthPath(folder, t.index), text, 0o644)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// A take is one recording in the making.
type take struct {
	index int
	shoot *footage.Shoot
	into  *io.PipeWriter
	done  chan error
}

func (s sample) take(ctx context.Context, bare *footage.Shoot, f format, path string) (*take, error) {
	shoot, err := bare.Again(s.recorder(f))
	if err != nil {
		return nil, err
	}
	from, into := io.Pipe()
	t := &take{shoot: shoot, into: into, done: make(chan error, 1)}
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
		r.Counter = &footage.Counter{Look: scaled(s.look), Zero: s.zero, Slip: s.slip, Lag: 0.3, Rezero: s.rezero, Blank: s.blank}
	}
	if s.clock != "" {
		c := &footage.Clock{At: time.Date(2024, 3, 9, 11, 58, 41, 0, time.UTC), Elapsed: s.clock == "elapsed"}
		c.Format = map[string]string{"time": "15:04:05", "seconds": "05", "dotted": "04.05"}[s.clock]
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

func (t *take) truth(scene footage.Scene, f format) Recording {
	s := samples[t.index]
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
	scene := footage.House(uint64(40 + group))
	if group == Known {
		scene.Pipe.Material, scene.Pipe.Joints = "concrete", 1
	}
	scene.Van = 1.5
	r := rand.New(rand.NewPCG(uint64(group), 17))
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
