package review

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"hash"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/frames"
	"pushcue/internal/ffmpeg"
	"pushcue/internal/reach"
	"pushcue/timeline/words"
)

// standIn is a small film in place of a part that browsers can't play.
type standIn struct {
	State string  `json:"state"` // none, waiting, making, ready, failed
	Done  float64 `json:"done"`
	Why   string  `json:"why"` // it failed
	URL   string  `json:"url"`
}

// standIns makes them, one after another, and keeps them in our own folder.
type standIns struct {
	t     *sitting
	order chan partOf

	mu    sync.Mutex
	parts map[partOf]standIn
	paths map[partOf]string
}

// partOf is a part of a recording as it was read: its files may be copied anew.
type partOf struct {
	rec  *frames.Recording
	part int
}

func newStandIns(t *sitting) *standIns {
	return &standIns{t: t, order: make(chan partOf, 64), parts: map[partOf]standIn{}, paths: map[partOf]string{}}
}

func (s *standIns) now(rec *frames.Recording, part int) standIn {
	s.mu.Lock()
	defer s.mu.Unlock()
	p, ok := s.parts[partOf{rec, part}]
	if !ok {
		p.State = "none"
	}
	p.URL = fmt.Sprintf("/media/proxy/%d", part)
	return p
}

func (s *standIns) path(rec *frames.Recording, part int) (string, bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.paths[partOf{rec, part}], s.parts[partOf{rec, part}].State == "ready"
}

func (s *standIns) set(rec *frames.Recording, part int, p standIn, path string) {
	s.mu.Lock()
	s.parts[partOf{rec, part}] = p
	if path != "" {
		s.paths[partOf{rec, part}] = path
	}
	s.mu.Unlock()
	if s.t.now.Load().recording != rec {
		return // of what the pages don't show any more
	}
	s.t.tell("proxy", map[string]any{"part": part, "state": p.State, "done": p.Done, "why": p.Why})
}

// begin makes those that are surely needed, then those that pages ask for. Those of
// recordings that the job doesn't hold any more go first.
func (s *standIns) begin(ctx context.Context) {
	s.t.background(ctx, func(ctx context.Context) {
		s.clear()
		s.needed()
		for {
			select {
			case one := <-s.order:
				if one.rec == s.t.now.Load().recording {
					s.make(ctx, one.rec, one.part)
				}
			case <-ctx.Done():
				return
			}
		}
	})
}

// needed asks for those of parts that no browser plays.
func (s *standIns) needed() {
	rec := s.t.now.Load().recording
	if rec == nil {
		return
	}
	for i := range rec.Parts {
		if !playable(&rec.Parts[i]) {
			s.want(rec, i)
		}
	}
}

// want asks for one, unless it is there or on its way.
func (s *standIns) want(rec *frames.Recording, part int) {
	s.mu.Lock()
	state := s.parts[partOf{rec, part}].State
	s.mu.Unlock()
	if state != "" && state != "failed" {
		return
	}
	select {
	case s.order <- partOf{rec, part}:
		s.set(rec, part, standIn{State: "waiting"}, "")
	default:
	}
}

// serveWant is a page that can't play a part after all.
func (t *sitting) serveWant(r *http.Request) error {
	var asked struct {
		Part int `json:"part"`
	}
	if err := read(r, &asked); err != nil {
		return err
	}
	rec := t.now.Load().recording
	if rec == nil || asked.Part < 0 || asked.Part >= len(rec.Parts) {
		return rejected(http.StatusUnprocessableEntity, words.Tell("the recording has no such part"), words.Sentence{})
	}
	t.stands.want(rec, asked.Part)
	return nil
}

// Of a stand-in: pixels across at most, and frames from one key frame to the next,
// few so that a browser finds each frame quickly.
const (
	standInWidth = 960
	standInKeys  = 12
)

// make makes one. Frame i of the part lies in it at the very time that it has in the
// part, counted from the part's first frame.
func (s *standIns) make(ctx context.Context, rec *frames.Recording, part int) {
	path, err := s.name(rec, part)
	if err == nil {
		if _, statErr := os.Stat(path); statErr == nil {
			s.set(rec, part, standIn{State: "ready", Done: 1}, path)
			return
		}
		err = s.encode(ctx, rec.Only(part), path, func(done float64) { s.set(rec, part, standIn{State: "making", Done: done}, "") })
	}
	switch {
	case ctx.Err() != nil:
	case err != nil:
		_, why := understand(err, s.t.server.speaks())
		s.set(rec, part, standIn{State: "failed", Why: strings.TrimSpace(why.Text + ". " + why.Hint)}, "")
	default:
		s.set(rec, part, standIn{State: "ready", Done: 1}, path)
	}
}

const standInName = "stand-in-"

// name is where a part's stand-in lies: by what the part holds, so that it is found
// again wherever the job folder is moved to.
func (s *standIns) name(rec *frames.Recording, part int) (string, error) {
	work := s.t.now.Load().job.Work
	p := rec.Parts[part]
	sum, err := glance(p.Media.Source)
	if err != nil {
		return "", err
	}
	fmt.Fprintf(sum, "%d %d", p.Count, standInWidth)
	return filepath.Join(work, standInName+hex.EncodeToString(sum.Sum(nil)[:8])+".mp4"), nil
}

// glance sums a file's size and pieces out of all of it: enough to know it again, and
// quick however long it is.
func glance(s *reach.Source) (hash.Hash, error) {
	const pieces, long = 64, 16 << 10
	f, err := s.Open()
	if err != nil {
		return nil, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	sum := sha256.New()
	fmt.Fprintf(sum, "%d ", info.Size())
	for i := range int64(pieces) {
		from := max(0, info.Size()-long) * i / (pieces - 1)
		if _, err := io.Copy(sum, io.NewSectionReader(f, from, long)); err != nil {
			return nil, err
		}
	}
	return sum, nil
}

// clear removes stand-ins of what the job doesn't hold any more, and halves of those
// that were being made as the power went.
func (s *standIns) clear() {
	v := s.t.now.Load()
	if v.recording == nil {
		return // what it was made of may be on a drive that comes back
	}
	var of []string
	for i := range v.recording.Parts {
		name, err := s.name(v.recording, i)
		if err != nil {
			return // a part that can't be read just now is no reason to throw away
		}
		of = append(of, name)
	}
	work, err := v.job.OpenWork()
	if err != nil {
		return
	}
	defer work.Close()
	found, _ := work.ReadDir(".")
	for _, e := range found {
		if strings.HasPrefix(e.Name(), standInName) && !slices.Contains(of, work.At(e.Name())) {
			_ = work.RemoveAll(e.Name())
		}
	}
}

func (s *standIns) encode(ctx context.Context, one *frames.Recording, path string, told func(float64)) error {
	told(0)
	tools := s.t.opened.tools
	joined := one.Joined(true)
	picture := joined.Video
	if one.Width > standInWidth {
		picture = picture.Filter("scale", ff.Args{strconv.Itoa(standInWidth), "-2"})
	}
	args := ff.KwArgs{
		"c:v": tools.Encoder, "pix_fmt": "yuv420p", "g": strconv.Itoa(standInKeys), "bf": "0", "f": "mp4", "movflags": "+faststart",
		"video_track_timescale": "90000", "map_metadata": "-1", "threads": "1",
	}
	for name, value := range frames.OutputArgs() {
		args[name] = value
	}
	if tools.Encoder == "libx264" {
		args["preset"], args["crf"] = "ultrafast", "27"
	} else {
		args["b:v"] = "1500k"
	}
	streams := []*ff.Stream{picture}
	if joined.Sound != nil {
		streams = append(streams, joined.Sound)
		args["c:a"], args["b:a"] = "aac", "96k"
	}
	work, err := s.t.now.Load().job.OpenWork()
	if err != nil {
		return err
	}
	defer work.Close()
	temp, err := work.TempFolder(standInName + "unfinished-")
	if err != nil {
		return err
	}
	defer temp.Discard()
	const name = "unfinished.mp4"
	_, err = tools.Do(ctx, ffmpeg.Run{Outputs: []*ff.Stream{ffmpeg.Output(streams, temp.At(name), args)}, Sources: one.Sources(), Contents: one.Voices(), Progress: func(p ffmpeg.Progress) {
		told(min(1, p.Time.Seconds()/max(one.End.Seconds(), 0.001)))
	}})
	if err != nil {
		return err
	}
	return temp.Move(name, work, filepath.Base(path))
}
