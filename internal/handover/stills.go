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
	"pushcue/internal/safefile"
	"pushcue/internal/shelf"
	"pushcue/internal/trouble"
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

func stillName(base string) string { return path.Join("stills", base+".jpg") }
func thumbName(base string) string { return path.Join("stills", "thumbs", base+".jpg") }

// stillKey is all that a still shows: where it is taken, and what its caption says.
func (m *maker) stillKey(o timeline.Observation, l *overlay.Layout) string {
	t := m.placed.Timeline
	trueTime, known := t.TrueTime(o.Video)
	parts := []any{"still", m.sourceKeys(), o.Frame, m.job.Sheet.Stills, m.placed.StandAt(o.Video), o, trueTime, known, t.DistanceAt(o.Video),
		t.Sheet.Line, t.Sheet.Job, t.Sheet.Captions, l.Width, l.Height, l.Picture, l.Place, l.Notes}
	if t.TimeSource(o.Video).Unchecked() {
		parts = append(parts, "unchecked") // its caption says so
	}
	return shelf.KeyOf(parts...)
}

// takeStill captions a still, and puts it and its thumbnail into the handover.
func (m *maker) takeStill(ctx context.Context, s frames.Still) error {
	w := &m.stills[s.ID]
	picture := m.stillLayout.CaptionStill(s.Picture, s.Best.Index, &w.observation)
	still, err := m.writeJPEG("still"+strconv.Itoa(s.ID), picture)
	if w.file = still; err != nil || !w.todo {
		return err
	}
	w.file = m.folder.Path(stillName(w.base))
	thumb, err := m.writeJPEG("thumb"+strconv.Itoa(s.ID), frames.Thumbnail(picture, thumbWidth, thumbHeight))
	if err != nil {
		return err
	}
	for _, why := range s.Why {
		m.progress.Say(words.Plain("%s: %s", stillName(w.base), why))
	}
	return m.folder.Publish(ctx,
		shelf.Piece{Name: stillName(w.base), Key: w.key, Temp: still, At: s.Best.At},
		shelf.Piece{Name: thumbName(w.base), Key: w.key, Temp: thumb, At: s.Best.At})
}

func (m *maker) writeJPEG(name string, picture image.Image) (string, error) {
	return m.wait(name+".jpg", func(w io.Writer) error { return frames.EncodeJPEG(w, picture) })
}

// wait writes a file that waits for its name in the handover, and tells where.
func (m *maker) wait(name string, write func(io.Writer) error) (path string, err error) {
	tmp := m.ground.tmp.Folder
	return tmp.At(name), trouble.Writing(tmp.At(name), tmp.Write(name, write))
}

// contactSheet shows all stills on one page. It is made of the thumbnails as they
// lie in the handover, so that it can be made anew without the recording.
func (m *maker) contactSheet(ctx context.Context) error {
	var keys []string
	var files []string
	for _, w := range m.stills {
		name := thumbName(w.base)
		sum, ok := m.folder.Wanted[name]
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
	if have, err := m.folder.Has(ctx, contactName, key); have || err != nil {
		return err
	}
	tiles := make([]image.Image, 0, len(files))
	for _, name := range files {
		tile, err := readJPEG(m.folder.Folder, name)
		if err != nil {
			continue // somebody's own file stands there
		}
		tiles = append(tiles, tile)
	}
	if len(tiles) == 0 {
		return nil
	}
	tmp, err := m.writeJPEG("contact-sheet", frames.ContactSheet(tiles, sheetColumns, thumbWidth, thumbHeight))
	if err != nil {
		return err
	}
	return m.folder.Publish(ctx, shelf.Piece{Name: contactName, Key: key, Temp: tmp})
}

func readJPEG(dir *safefile.Folder, name string) (image.Image, error) {
	f, err := dir.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return jpeg.Decode(f)
}

// A wantedStill is one to be taken.
type wantedStill struct {
	observation timeline.Observation
	base, key   string
	todo        bool

	narrated bool   // it is needed for a spoken note, wanted or not
	file     string // where it lies, for that
}

// wantedStills asks for the stills that aren't there yet.
func (m *maker) wantedStills() []frames.Want {
	var wants []frames.Want
	for i, w := range m.stills {
		if !w.todo && !w.narrated {
			continue
		}
		want := frames.Want{ID: i, At: w.observation.Video, Window: m.job.Sheet.Stills.Window, Within: m.placed.StandAt(w.observation.Video)}
		if chosen := w.observation.Entry.Still; chosen != nil { // by a person: that frame and no better one
			_, want.At, _ = m.placed.Timeline.FrameAt(chosen.Add(time.Microsecond))
			want.Window = 0
		}
		wants = append(wants, want)
	}
	return wants
}
