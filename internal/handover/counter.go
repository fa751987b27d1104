package handover

import (
	"context"
	"encoding/json"
	"fmt"
	"image"
	"os"
	"path/filepath"
	"strings"
	"time"

	"pushcue/frames"
	"pushcue/frames/counter"
	"pushcue/internal/ffmpeg"
	"pushcue/internal/handover/onscreen"
	"pushcue/internal/safefile"
	"pushcue/timeline"
	"pushcue/timeline/distance"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
)

// seenName is what was read off the pictures, as it is kept in our own folder.
const seenName = "counter.json"

// seen is what was read off the pictures of a recording.
type seen struct {
	Key    string  `json:"key"` // the sum of all that it was made of
	Groups []alike `json:"groups"`
	Sheet  string  `json:"sheet"` // the sum of what the sheet was drawn of; "" before

	// When the camera stood, from the pictures; looked for only where it helps.
	Stood  []frames.Stand `json:"stood"`
	Looked bool           `json:"looked"` // for that
}

// alike is what stands on the pictures of one size.
type alike struct {
	Parts   []int             `json:"parts"`
	Written []image.Rectangle `json:"written"` // wherever something may be written
	Rivals  []image.Rectangle `json:"rivals"`  // each may be the counter, where there are two or more
	Why     string            `json:"why"`     // why the box that the sheet gives isn't taken for the counter
	Counter *row              `json:"counter"`
	Clock   *row              `json:"clock"`
}

// row is one line of writing, read.
type row struct {
	Box      image.Rectangle  `json:"box"`
	Unit     distance.Unit    `json:"unit"` // as shown; "" where none was made out
	Decimals int              `json:"decimals"`
	Samples  []counter.Sample `json:"samples"`
}

// A watcher looks at the pictures of one job.
type watcher struct {
	tools    *ffmpeg.Tools
	job      *Job
	rec      *frames.Recording
	progress Progress
	sums     *sourceSums
	quick    bool // take what is kept, and look at nothing
	counted  bool // the table of frames comes from decoding
}

// look reads what is written on the recording, once: what was read before of the
// same files is taken as it was. A recording that can't be looked through is no
// error but a warning. nil where nothing was looked for.
func (w *watcher) look(ctx context.Context) (*seen, []timeline.Warning, error) {
	c := w.job.Sheet.Counter
	if c.Look == "off" || w.job.Readings != nil && c.Look != "box" {
		return nil, nil, nil // nobody wants it, or the readings are there already
	}
	key, err := w.key(ctx)
	if err != nil {
		return nil, nil, err
	}
	if s := w.kept(key); s != nil || w.quick {
		return s, nil, nil
	}
	s, err := w.read(ctx)
	switch {
	case ctx.Err() != nil:
		return nil, nil, ctx.Err()
	case err != nil:
		return nil, []timeline.Warning{{Code: "counter-unread",
			Text: "the pictures couldn't be looked through for an on-screen counter: " + err.Error(),
			Hint: `run again; look = "off" under [counter] leaves it out`}}, nil
	}
	s.Key = key
	w.keep(s)
	return s, nil, nil
}

// key is the sum of all that a reading is made of.
func (w *watcher) key(ctx context.Context) (string, error) {
	var sums []string
	for _, v := range w.job.Videos {
		sum, err := w.sums.sum(ctx, v, func(int) {})
		if err != nil {
			return "", err
		}
		sums = append(sums, sum)
	}
	s := w.job.Sheet
	return keyOf("counter", sums, counter.Version, onscreen.Version, w.counted, s.Counter.Look, s.Counter.Box, s.Counter.Unit, s.Distance.Fastest), nil
}

func (w *watcher) kept(key string) *seen {
	var s seen
	text, err := os.ReadFile(filepath.Join(w.job.work, seenName))
	if err != nil || json.Unmarshal(text, &s) != nil || s.Key != key {
		return nil
	}
	for _, g := range s.Groups {
		for _, k := range g.Parts {
			if k < 0 || k >= len(w.rec.Parts) {
				return nil
			}
		}
	}
	return &s
}

// keep writes what was seen into our own folder. A folder that can't be written to
// costs reading it again, nothing more.
func (w *watcher) keep(s *seen) {
	if text, err := json.Marshal(s); err == nil && os.MkdirAll(w.job.work, 0o755) == nil {
		_ = safefile.WriteBytes(filepath.Join(w.job.work, seenName), text)
	}
}

func (w *watcher) read(ctx context.Context) (*seen, error) {
	dir, err := w.room()
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	w.progress.Step("reading the counter", w.rec.End.Seconds())
	s := &seen{}
	sheet := w.job.Sheet
	for _, parts := range onscreen.Alike(w.rec) {
		f, err := onscreen.Read(ctx, w.tools, w.rec, onscreen.Options{
			Options:  counter.Options{Fastest: sheet.Distance.Fastest, Unit: sheet.Counter.Unit},
			Parts:    parts,
			Box:      givenBox(sheet.Counter),
			Dir:      dir,
			Progress: func(done float64) { w.progress.Advance(done * w.rec.End.Seconds()) },
		})
		if err != nil {
			return nil, err
		}
		s.Groups = append(s.Groups, kept(f, sheet.Counter.Look == "box"))
	}
	return s, nil
}

// findStands looks once for when the camera stood. A recording that can't be looked
// through stands nowhere.
func (w *watcher) findStands(ctx context.Context, s *seen) error {
	if s.Looked || w.quick {
		return nil
	}
	w.progress.Step("looking where the camera stood", w.rec.End.Seconds())
	stands, err := w.rec.FindStands(ctx, w.tools, func(at timecode.Video) { w.progress.Advance(at.Seconds()) })
	if err != nil {
		return ctx.Err()
	}
	s.Stood, s.Looked = stands, true
	w.keep(s)
	return nil
}

func (s *seen) stands() (stands []timeline.Stand) {
	if s == nil {
		return nil
	}
	for _, x := range s.Stood {
		stands = append(stands, timeline.Stand(x))
	}
	return stands
}

// room is a folder for pictures that wait: in our own, since a system's folder for
// such things may lie in memory. What runs left that were killed is cleared away, once
// it's so old that nobody can be at it.
func (w *watcher) room() (string, error) {
	const name, old = "reading-", 24 * time.Hour
	if os.MkdirAll(w.job.work, 0o755) == nil {
		entries, _ := os.ReadDir(w.job.work)
		for _, e := range entries {
			info, err := e.Info()
			if err == nil && e.IsDir() && strings.HasPrefix(e.Name(), name) && time.Since(info.ModTime()) > old {
				_ = os.RemoveAll(filepath.Join(w.job.work, e.Name()))
			}
		}
		if dir, err := os.MkdirTemp(w.job.work, name); err == nil {
			return dir, nil
		}
	}
	return os.MkdirTemp("", name)
}

func givenBox(c jobsheet.Counter) image.Rectangle {
	if c.Look != "box" {
		return image.Rectangle{}
	}
	return image.Rect(c.Box[0], c.Box[1], c.Box[0]+c.Box[2], c.Box[1]+c.Box[3])
}

// kept is what of a reading is worth keeping.
func kept(f *onscreen.Found, given bool) alike {
	g := alike{Parts: f.Parts, Counter: rowOf(f.Counter)}
	for _, l := range f.Lines {
		g.Written = append(g.Written, l.Box)
		switch {
		case l.Kind == counter.Time && g.Clock == nil && writtenTime.MatchString(anyText(l.Samples)):
			g.Clock = rowOf(l)
		case l.Kind == counter.Length && f.Counter == nil:
			g.Rivals = append(g.Rivals, l.Box)
		case l.Kind != counter.Length && given:
			g.Why = l.Why
		}
	}
	return g
}

// anyText is something that was read of a line; "" where nothing was.
func anyText(samples []counter.Sample) string {
	for _, s := range samples {
		if s.Text != "" {
			return s.Text
		}
	}
	return ""
}

func rowOf(l *counter.Line) *row {
	if l == nil {
		return nil
	}
	return &row{Box: l.Box, Unit: l.Unit, Decimals: l.Decimals, Samples: l.Samples}
}

// counters are the parts' counters, of each size of picture one.
func (s *seen) counters() (all []*alike) {
	if s == nil {
		return nil
	}
	for i := range s.Groups {
		if s.Groups[i].Counter != nil {
			all = append(all, &s.Groups[i])
		}
	}
	return all
}

// readings are what the counter showed, in metres.
func (s *seen) readings(sheet *jobsheet.Sheet) (rs []distance.Reading) {
	for _, g := range s.counters() {
		unit, _ := g.Counter.unit(sheet)
		for _, x := range g.Counter.Samples {
			if x.State != counter.Unread {
				shown := distance.Metres(x.Value)
				if unit == distance.Foot {
					shown *= distance.PerFoot
				}
				rs = append(rs, distance.Reading{At: x.At, Shown: shown, Source: distance.FromPicture, Unsure: x.State == counter.Filled, Thrown: x.State == counter.Thrown})
			}
		}
	}
	return rs
}

// unit is what the counter counts in: what the sheet says, what is shown beside it,
// else what the job counts in, which is a guess.
func (r *row) unit(sheet *jobsheet.Sheet) (u distance.Unit, guessed bool) {
	switch {
	case sheet.Counter.Unit != "":
		return sheet.Counter.Unit, false
	case r.Unit != "":
		return r.Unit, false
	}
	return sheet.Job.Units, true
}

// written is where something is written on the picture shown, for captions to keep
// clear of.
func (s *seen) written(rec *frames.Recording) (areas []image.Rectangle) {
	if s == nil {
		return nil
	}
	for _, g := range s.Groups {
		for _, b := range g.Written {
			areas = append(areas, rec.Shown(g.Parts[0], b))
		}
	}
	return areas
}

// remarks are what a person should know of how the counter was read.
func (s *seen) remarks(sheet *jobsheet.Sheet) (ws []timeline.Warning) {
	if s == nil {
		return nil
	}
	for _, g := range s.Groups {
		if len(g.Rivals) > 1 {
			text, lines := "more than one number on the picture may be the counter", ""
			for i, b := range g.Rivals {
				if i > 0 {
					lines += " or "
				}
				lines += fmt.Sprintf("look = [%d, %d, %d, %d]", b.Min.X, b.Min.Y, b.Dx(), b.Dy())
			}
			ws = append(ws, timeline.Warning{Code: "counter-ambiguous", Open: true, Text: text + "; none was read",
				Hint: "say which under [counter]: " + lines})
		}
		if g.Why != "" {
			ws = append(ws, timeline.Warning{Code: "counter-unread", Open: true,
				Text: "what stands in the box given as look under [counter] wasn't taken for a cable counter: " + g.Why,
				Hint: "give the box round the digits of the counter, x, y, width and height in pixels of the recording"})
		}
		if g.Counter != nil {
			if u, guessed := g.Counter.unit(sheet); guessed {
				ws = append(ws, timeline.Warning{Code: "counter-unit-assumed",
					Text: fmt.Sprintf("the on-screen counter shows no unit that could be made out; it's taken to count in %s, as the job does", u),
					Hint: `say unit = "m" or unit = "ft" under [counter]`})
			}
		}
	}
	return ws
}
