package review

import (
	"bytes"
	"container/list"
	"context"
	"fmt"
	"image"
	"net/http"
	"strconv"
	"sync"

	"github.com/disintegration/imaging"

	"pushcue/frames"
	"pushcue/internal/ffmpeg"
	"pushcue/internal/safefile"
	"pushcue/timeline/words"
)

const (
	usualWidth  = 960      // of a still, where none is asked for
	mostCached  = 48 << 20 // bytes of stills kept
	mostAtOnce  = 2        // seeks at a time
	ahead       = 12       // frames taken with the one asked for
	largeFrame  = 3 << 20  // pixels; of such pictures fewer are taken ahead
	aheadLarge  = 2
	mostPending = 16 // stills waited for; a page asks for a few
)

// stills takes exact frames out of the recording as pages ask for them, some more
// beside each since a person steps on from there, and keeps the latest.
type stills struct {
	tools *ffmpeg.Tools
	top   string // our own folder
	work  string // the job's in it
	seats chan struct{}
	queue chan struct{}

	mu    sync.Mutex
	by    map[stillKey]*list.Element
	order *list.List // newest first
	bytes int
	last  int // the frame asked for last
}

// stillKey names a still of one state of the recording: a file may be copied anew.
type stillKey struct {
	of           *frames.Recording
	frame, width int
}

type kept struct {
	key  stillKey
	jpeg []byte
}

func newStills(tools *ffmpeg.Tools, top, work string) *stills {
	return &stills{tools: tools, top: top, work: work, seats: make(chan struct{}, mostAtOnce), queue: make(chan struct{}, mostPending), by: map[stillKey]*list.Element{}, order: list.New()}
}

// serveStill sends the exact frame.
func (t *sitting) serveStill(w http.ResponseWriter, r *http.Request) error {
	v := t.now.Load()
	rec := v.recording
	frame, err := strconv.Atoi(r.URL.Query().Get("frame"))
	if rec == nil || err != nil || frame < 0 || frame >= len(rec.Times) {
		return rejected(http.StatusNotFound, words.Tell("the recording has no such frame"), words.Sentence{})
	}
	width := usualWidth
	if text := r.URL.Query().Get("width"); text != "" {
		if width, err = strconv.Atoi(text); err != nil || width < 0 || width > 1<<14 {
			return rejected(http.StatusBadRequest, words.Tell("the width must be a number of pixels"), words.Sentence{})
		}
	}
	if width == 0 || width > rec.Width {
		width = rec.Width
	}
	if cached(w, r, fmt.Sprintf("%s-%d-%d", v.film, frame, width)) {
		return nil
	}
	jpeg, err := t.stills.take(r.Context(), rec, stillKey{rec, frame, width})
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "image/jpeg")
	h.Set("X-Frame", strconv.Itoa(frame))
	h.Set("Content-Length", strconv.Itoa(len(jpeg)))
	_, _ = w.Write(jpeg)
	return nil
}

func (s *stills) take(ctx context.Context, rec *frames.Recording, key stillKey) ([]byte, error) {
	if jpeg, ok := s.cached(key); ok {
		return jpeg, nil
	}
	select {
	case s.queue <- struct{}{}:
		defer func() { <-s.queue }()
	default:
		return nil, rejected(http.StatusTooManyRequests, words.Tell("too many pictures are asked for at once"), words.Tell("wait a moment"))
	}
	select {
	case s.seats <- struct{}{}:
		defer func() { <-s.seats }()
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	if jpeg, ok := s.cached(key); ok { // taken beside another one meanwhile
		return jpeg, nil
	}
	return s.fetch(ctx, rec, key)
}

// fetch seeks once and takes the frame with some that a person is likely to step to.
func (s *stills) fetch(ctx context.Context, rec *frames.Recording, key stillKey) ([]byte, error) {
	dir, err := s.room()
	if err != nil {
		return nil, err
	}
	defer dir.Discard()
	var wants []frames.Want
	for _, n := range s.beside(rec, key) {
		wants = append(wants, frames.Want{ID: n, At: rec.Times[n]})
	}
	var found []byte
	err = frames.Fetch(ctx, s.tools, rec, wants, dir.Path(), func(still frames.Still) error {
		if still.Exact.Index != still.ID {
			return fmt.Errorf("frame %d came for %d", still.Exact.Index, still.ID)
		}
		var b bytes.Buffer
		if err := frames.EncodeJPEG(&b, smaller(still.Picture, key.width)); err != nil {
			return err
		}
		s.keep(stillKey{rec, still.ID, key.width}, b.Bytes())
		if still.ID == key.frame {
			found = b.Bytes()
		}
		return nil
	})
	if found != nil { // whatever became of its neighbours
		return found, nil
	}
	if err == nil {
		err = fmt.Errorf("frame %d didn't come", key.frame)
	}
	return nil, err
}

// beside are the frames to take with one: those after it, or before it where the
// person steps back.
func (s *stills) beside(rec *frames.Recording, key stillKey) []int {
	n := ahead
	if rec.Width*rec.Height > largeFrame {
		n = aheadLarge
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	from, to := key.frame, key.frame
	switch step := key.frame - s.last; {
	case step > 0 && step <= n:
		to += n
	case step < 0 && step >= -n:
		from -= n
	default:
		from, to = from-1, to+1
	}
	s.last = key.frame
	var all []int
	for i := max(0, from); i <= min(len(rec.Times)-1, to); i++ {
		if _, have := s.by[stillKey{rec, i, key.width}]; !have || i == key.frame {
			all = append(all, i)
		}
	}
	return all
}

func smaller(img image.Image, width int) image.Image {
	if img.Bounds().Dx() <= width {
		return img
	}
	return imaging.Resize(img, width, 0, imaging.Box)
}

// room is a folder for pictures that wait, in our own where that can be written to.
func (s *stills) room() (*safefile.Temp, error) {
	return safefile.TempWithin(s.top, s.work, "unfinished-still-")
}

func (s *stills) cached(key stillKey) ([]byte, bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	e, ok := s.by[key]
	if !ok {
		return nil, false
	}
	s.last = key.frame
	s.order.MoveToFront(e)
	return e.Value.(kept).jpeg, true
}

func (s *stills) keep(key stillKey, jpeg []byte) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if _, have := s.by[key]; have {
		return
	}
	s.by[key] = s.order.PushFront(kept{key, jpeg})
	s.bytes += len(jpeg)
	for s.bytes > mostCached && s.order.Len() > 1 {
		old := s.order.Remove(s.order.Back()).(kept)
		delete(s.by, old.key)
		s.bytes -= len(old.jpeg)
	}
}
