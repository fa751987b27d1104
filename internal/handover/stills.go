package handover

import (
	"context"
	"image"
	"image/jpeg"
	"io"
	"path"
	"strconv"
	"time"

	"pushcue/frames"
	"pushcue/internal/handover/account"
	"pushcue/internal/safefile"
	"pushcue/internal/shelf"
	"pushcue/overlay"
	"pushcue/timeline"
	"pushcue/timeline/words"
)

// The size that thumbnails fit into, and how many stand in a row of the contact sheet.
const (
	thumbWidth, thumbHeight = 320, 240
	sheetColumns            = 4
)

const contactName = "stills/contact-sheet.jpg"

// stills are a picture of each observation, its thumbnail, and the contact sheet.
type stills struct {
	*making
	wanted []wantedStill
}

// A wantedStill is one to be taken.
type wantedStill struct {
	observation timeline.Observation
	base, key   string
	todo        bool

	narrated bool   // it is needed for a spoken note, wanted or not
	file     string // where it lies, for that
}

func stillName(base string) string { return path.Join("stills", base+".jpg") }
func thumbName(base string) string { return path.Join("stills", "thumbs", base+".jpg") }

func (s *stills) plan(ctx context.Context) error {
	for _, o := range s.shown() {
		w := wantedStill{observation: o, base: s.pictureName(o), key: s.stillKey(o, s.captions.still)}
		have, err := s.haveAll(ctx, w.key, stillName(w.base), thumbName(w.base))
		if err != nil {
			return err
		}
		w.todo = !have && s.wants["stills"]
		s.wanted = append(s.wanted, w)
	}
	return nil
}

func (s *stills) join(b *burn) error {
	b.stills, b.take = s.wantedStills(), s.takeStill
	return nil
}

func (s *stills) finish(ctx context.Context) error { return s.contactSheet(ctx) }

func (s *stills) enter(made *account.Made) {
	made.Stills = map[int]account.Still{}
	for _, w := range s.wanted {
		name := stillName(w.base)
		if !s.isThere(name) {
			continue
		}
		still := account.Still{File: name}
		if e := s.shelf.Record.Files[name]; e.Key == w.key {
			still.At = &e.At
		}
		made.Stills[w.observation.Row] = still
	}
}

// stillKey is all that a still shows: where it is taken, and what its caption says.
func (s *stills) stillKey(o timeline.Observation, l *overlay.Layout) string {
	t := s.placed.Timeline
	trueTime, known := t.TrueTime(o.Video)
	parts := []any{"still", s.sourceKeys(), o.Frame, s.job.Sheet.Stills, s.placed.StandAt(o.Video), o, trueTime, known, t.DistanceAt(o.Video),
		t.Sheet.Line, t.Sheet.Job, t.Sheet.Captions, l.Width, l.Height, l.Picture, l.Place, l.Notes}
	if t.TimeSource(o.Video).Unchecked() {
		parts = append(parts, "unchecked") // its caption says so
	}
	return shelf.KeyOf(parts...)
}

// wantedStills asks for the stills that aren't there yet.
func (s *stills) wantedStills() []frames.Want {
	var wants []frames.Want
	for i, w := range s.wanted {
		if !w.todo && !w.narrated {
			continue
		}
		want := frames.Want{ID: i, At: w.observation.Video, Window: s.job.Sheet.Stills.Window, Within: s.placed.StandAt(w.observation.Video)}
		if chosen := w.observation.Entry.Still; chosen != nil { // by a person: that frame and no better one
			_, want.At, _ = s.placed.Timeline.FrameAt(chosen.Add(time.Microsecond))
			want.Window = 0
		}
		wants = append(wants, want)
	}
	return wants
}

// takeStill captions a still, and puts it and its thumbnail into the handover.
func (s *stills) takeStill(ctx context.Context, shot frames.Still) error {
	w := &s.wanted[shot.ID]
	picture := s.captions.still.CaptionStill(shot.Picture, shot.Best.Index, &w.observation)
	still, err := s.writeJPEG("still"+strconv.Itoa(shot.ID), picture)
	if w.file = still; err != nil || !w.todo {
		return err
	}
	w.file = s.shelf.Path(stillName(w.base))
	thumb, err := s.writeJPEG("thumb"+strconv.Itoa(shot.ID), frames.Thumbnail(picture, thumbWidth, thumbHeight))
	if err != nil {
		return err
	}
	for _, why := range shot.Why {
		s.progress.Say(words.Plain("%s: %s", stillName(w.base), why))
	}
	return s.shelf.Publish(ctx,
		shelf.Piece{Name: stillName(w.base), Key: w.key, Temp: still, At: shot.Best.At},
		shelf.Piece{Name: thumbName(w.base), Key: w.key, Temp: thumb, At: shot.Best.At})
}

func (s *stills) writeJPEG(name string, picture image.Image) (string, error) {
	return s.wait(name+".jpg", func(w io.Writer) error { return frames.EncodeJPEG(w, picture) })
}

// contactSheet shows all stills on one page. It is made of the thumbnails as they
// lie in the handover, so that it can be made anew without the recording.
func (s *stills) contactSheet(ctx context.Context) error {
	var keys []string
	var files []string
	for _, w := range s.wanted {
		name := thumbName(w.base)
		sum, ok := s.shelf.Wanted[name]
		if !ok {
			continue
		}
		keys = append(keys, sum)
		files = append(files, name)
	}
	if len(files) == 0 {
		return nil
	}
	key := shelf.KeyOf("contact sheet", keys)
	if have, err := s.shelf.Has(ctx, contactName, key); have || err != nil {
		return err
	}
	tiles := make([]image.Image, 0, len(files))
	for _, name := range files {
		tile, err := readJPEG(s.shelf.Folder, name)
		if err != nil {
			continue // somebody's own file stands there
		}
		tiles = append(tiles, tile)
	}
	if len(tiles) == 0 {
		return nil
	}
	tmp, err := s.writeJPEG("contact-sheet", frames.ContactSheet(tiles, sheetColumns, thumbWidth, thumbHeight))
	if err != nil {
		return err
	}
	return s.shelf.Publish(ctx, shelf.Piece{Name: contactName, Key: key, Temp: tmp})
}

func readJPEG(dir *safefile.Folder, name string) (image.Image, error) {
	f, err := dir.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return jpeg.Decode(f)
}
