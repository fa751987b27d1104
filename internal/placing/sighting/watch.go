// Package sighting keeps what the pictures of a recording tell by themselves: what its
// counter and its recorder's clock showed, where something is written, and when the
// camera stood. It's looked for once, kept in the job's own folder, and shown to a
// person on one sheet to be confirmed.
package sighting

import (
	"context"
	"errors"
	"fmt"
	"image"
	"strings"
	"time"

	"pushcue/frames"
	"pushcue/frames/counter"
	"pushcue/internal/ffmpeg"
	"pushcue/internal/placing/onscreen"
	"pushcue/internal/safefile"
	"pushcue/timeline"
	"pushcue/timeline/codes"
	"pushcue/timeline/distance"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// Seen is what was read off the pictures of a recording. Of a nil one nothing was.
type Seen struct {
	Key    string  `json:"key"` // tells all that it was made of
	Groups []Alike `json:"groups"`
	Sheet  string  `json:"sheet"` // tells what the sheet was drawn of; "" before

	// When the camera stood, from the pictures; looked for only where it helps.
	Stood  []frames.Stand `json:"stood"`
	Looked bool           `json:"looked"` // for that
}

// Alike is what stands on the pictures of one size.
type Alike struct {
	Parts   []int             `json:"parts"`
	Written []image.Rectangle `json:"written"` // wherever something may be written
	Rivals  []image.Rectangle `json:"rivals"`  // each may be the counter, where there are several or where that is doubtful
	Doubt   words.Sentence    `json:"doubt"`   // why the one rival isn't taken for the counter by itself
	Why     words.Sentence    `json:"why"`     // why the box that the sheet gives isn't taken for the counter
	Counter *Row              `json:"counter"`
	Clock   *Row              `json:"clock"`
}

// Row is one line of writing, read.
type Row struct {
	Box      image.Rectangle  `json:"box"`
	Unit     distance.Unit    `json:"unit"` // as shown; "" where none was made out
	Decimals int              `json:"decimals"`
	Samples  []counter.Sample `json:"samples"`

	logUnit distance.Unit // the log's own, where its unit is written; "" otherwise
}

// GoByLog lets the log's own unit say what a counter counts in whose unit wasn't made out:
// who wrote the log read its distances off the counter. "" where the log has bare numbers,
// which agree with a counter in any unit.
func (s *Seen) GoByLog(unit distance.Unit) {
	for _, g := range s.Counters() {
		g.Counter.logUnit = unit
	}
}

// A Watch looks at the pictures of one recording.
type Watch struct {
	Tools     *ffmpeg.Tools
	Recording *frames.Recording
	Sheet     *jobsheet.Sheet
	Of        string   // the sum of the recording's files and of how they were opened
	Work      string   // the job's folder in ours, where what was seen is kept
	Top       string   // our own folder; "" where Work is it
	Progress  Progress // not nil
	Quick     bool     // take what is kept, and look at nothing

	// SealOver seals what is kept, Seal tells whether a seal is ours; nil where nothing is sealed.
	SealOver func(text []byte) string
	Seal     func(seal string, text []byte) bool

	unkept   error  // why what was seen couldn't be kept
	lookedAt int    // looks that a check took
	fresh    []byte // in place of a fresh random number, for tests
}

// Progress is told how looking goes on.
type Progress interface {
	// Step begins a new step; total is what Advance counts to.
	Step(name words.Sentence, total float64)
	// Advance says how far the step has come.
	Advance(done float64)
}

// Look reads what is written on the recording, once: what was read before of the
// same files is taken as it was, if it bears our seal or pictures bear it out. A recording that can't be looked through is no
// error but a warning. nil where nothing was looked for.
func (w *Watch) Look(ctx context.Context) (*Seen, []timeline.Warning, error) {
	s, sealed := w.kept()
	if w.Quick && !sealed {
		return nil, nil, nil
	}
	if sealed {
		return s, nil, nil
	}
	var warnings []timeline.Warning
	if s != nil {
		err := w.check(ctx, s)
		if err == nil {
			s.Stood, s.Looked, s.Sheet = nil, false, ""
			w.keep(s)
			return s, nil, nil
		}
		var wrong *contradiction
		if errors.As(err, &wrong) {
			warnings = append(warnings, wrong.warning())
		}
	}
	s, err := w.read(ctx)
	switch {
	case ctx.Err() != nil:
		return nil, nil, ctx.Err()
	case err != nil:
		return nil, append(warnings, timeline.Warning{Code: codes.CounterUnread,
			Text: words.Tell("the pictures couldn't be looked through for an on-screen counter: %s", err),
			Hint: words.Tell(`run again; look = "off" under [counter] leaves it out`)}), nil
	}
	s.Key = w.Key()
	w.keep(s)
	return s, warnings, nil
}

// Key tells all that a reading is made of.
func (w *Watch) Key() string {
	c := w.Sheet.Counter
	return fmt.Sprint(w.Of, " ", counter.Version, onscreen.Version, " ", c.Look, c.Box, c.Unit, w.Sheet.Distance.Fastest)
}

func (w *Watch) read(ctx context.Context) (*Seen, error) {
	dir, err := w.room()
	if err != nil {
		return nil, err
	}
	defer dir.Discard()
	w.Progress.Step(words.Tell("reading the counter"), w.Recording.End.Seconds())
	s := &Seen{}
	for _, parts := range onscreen.Alike(w.Recording) {
		f, err := onscreen.Read(ctx, w.Tools, w.Recording, w.reading(parts, dir.Path(), nil))
		if err != nil {
			return nil, err
		}
		s.Groups = append(s.Groups, kept(f, w.Sheet.Counter.Look == "box"))
	}
	return s, nil
}

// reading is how parts are read, or only some stretches of them.
func (w *Watch) reading(parts []int, dir string, only []onscreen.Stretch) onscreen.Options {
	return onscreen.Options{
		Options:  counter.Options{Fastest: w.Sheet.Distance.Fastest, Unit: w.Sheet.Counter.Unit},
		Parts:    parts,
		Box:      GivenBox(w.Sheet.Counter),
		Only:     only,
		Dir:      dir,
		Progress: func(done float64) { w.Progress.Advance(done * w.Recording.End.Seconds()) },
	}
}

// FindStands looks once for when the camera stood. A recording that can't be looked
// through stands nowhere.
func (w *Watch) FindStands(ctx context.Context, s *Seen) error {
	if s.Looked || w.Quick {
		return nil
	}
	w.Progress.Step(words.Tell("looking where the camera stood"), w.Recording.End.Seconds())
	stands, err := w.Recording.FindStands(ctx, w.Tools, func(at timecode.Video) { w.Progress.Advance(at.Seconds()) })
	if err != nil {
		return ctx.Err()
	}
	s.Stood, s.Looked = stands, true
	w.keep(s)
	return nil
}

// Stands is when the camera stood.
func (s *Seen) Stands() (stands []timeline.Stand) {
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
func (w *Watch) room() (*safefile.Temp, error) {
	const name, old = "reading-", 24 * time.Hour
	if work, err := safefile.MakeWithin(w.top(), w.Work, nil); err == nil {
		entries, _ := work.ReadDir(".")
		for _, e := range entries {
			info, err := e.Info()
			if err == nil && e.IsDir() && strings.HasPrefix(e.Name(), name) && time.Since(info.ModTime()) > old {
				_ = work.RemoveAll(e.Name())
			}
		}
		work.Close()
	}
	return safefile.TempWithin(w.top(), w.Work, name)
}

// GivenBox is where the sheet says that the counter is; empty where it says nothing.
func GivenBox(c jobsheet.Counter) image.Rectangle {
	if c.Look != "box" {
		return image.Rectangle{}
	}
	return image.Rect(c.Box[0], c.Box[1], c.Box[0]+c.Box[2], c.Box[1]+c.Box[3])
}

// kept is what of a reading is worth keeping.
func kept(f *onscreen.Found, given bool) Alike {
	g := Alike{Parts: f.Parts, Counter: rowOf(f.Counter)}
	for _, l := range f.Lines {
		g.Written = append(g.Written, l.Box)
		switch {
		case l.Kind == counter.Time && g.Clock == nil && writtenTime.MatchString(anyText(l.Samples)):
			g.Clock = rowOf(l)
		case l.Kind == counter.Length && f.Counter == nil:
			g.Rivals, g.Doubt = append(g.Rivals, l.Box), l.Doubt
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

func rowOf(l *counter.Line) *Row {
	if l == nil {
		return nil
	}
	return &Row{Box: l.Box, Unit: l.Unit, Decimals: l.Decimals, Samples: l.Samples}
}

// Counters are the parts' counters, of each size of picture one.
func (s *Seen) Counters() (all []*Alike) {
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

// Readings are what the counter showed, in metres.
func (s *Seen) Readings(sheet *jobsheet.Sheet) (rs []distance.Reading) {
	for _, g := range s.Counters() {
		unit, guessed := g.Counter.ShownIn(sheet)
		if guessed {
			continue // in the wrong unit, each row would stand at a wrong place
		}
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

// unread are the parts of which nothing was read, where something was of others.
func (s *Seen) unread(parts []frames.Part) (silent []int) {
	if len(s.Counters()) == 0 {
		return nil
	}
	read := make([]bool, len(parts))
	for _, g := range s.Counters() {
		for _, x := range g.Counter.Samples {
			for _, k := range g.Parts {
				if x.State != counter.Unread && x.At >= parts[k].Start && x.At < parts[k].Start.Add(parts[k].Length) {
					read[k] = true
				}
			}
		}
	}
	for k, r := range read {
		if !r {
			silent = append(silent, k)
		}
	}
	return silent
}

// ShownIn is what the counter counts in: what the sheet says, what is shown beside it, the
// unit that the log's distances are written in; else what the job counts in, which is a guess.
func (r *Row) ShownIn(sheet *jobsheet.Sheet) (u distance.Unit, guessed bool) {
	switch {
	case sheet.Counter.Unit != "":
		return sheet.Counter.Unit, false
	case r.Unit != "":
		return r.Unit, false
	case r.logUnit != "":
		return r.logUnit, false
	}
	return sheet.Job.Units, true
}

// Written is where something is written on the picture shown, for captions to keep
// clear of.
func (s *Seen) Written(rec *frames.Recording) (areas []image.Rectangle) {
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

// Remarks are what a person should know of how the counter was read.
func (s *Seen) Remarks(sheet *jobsheet.Sheet, parts []frames.Part) (ws []timeline.Warning) {
	if s == nil {
		return nil
	}
	for _, k := range s.unread(parts) {
		ws = append(ws, timeline.Warning{Code: codes.CounterUnread,
			Text: words.Tell("%s: no counter was read on its pictures, so that nothing tells where the camera was", parts[k].Name),
			Hint: words.Tell("rows of it need a time, or their recording time under video; or give readings of the counter ([distance] readings)")})
	}
	for _, g := range s.Groups {
		if len(g.Rivals) > 0 {
			var lines []words.Sentence
			for _, b := range g.Rivals {
				lines = append(lines, words.Plain("look = [%d, %d, %d, %d]", b.Min.X, b.Min.Y, b.Dx(), b.Dy()))
			}
			text := words.Tell("more than one number on the picture may be the counter; none was read")
			if len(g.Rivals) == 1 {
				text = words.Tell("one number on the picture may be the counter, but isn't taken for it: %s", g.Doubt)
			}
			ws = append(ws, timeline.Warning{Code: codes.CounterAmbiguous,
				Text: text,
				Hint: words.Tell("say which under [counter]: %s", words.Join(lines, words.Tell(" or ")))})
		}
		if !g.Why.Empty() {
			ws = append(ws, timeline.Warning{Code: codes.CounterUnread, Unsettled: true,
				Text: words.Tell("what stands in the box given as look under [counter] wasn't taken for a cable counter: %s", g.Why),
				Hint: words.Tell("give the box round the digits of the counter, x, y, width and height in pixels of the recording")})
		}
		if g.Counter != nil {
			if _, guessed := g.Counter.ShownIn(sheet); guessed {
				ws = append(ws, timeline.Warning{Code: codes.CounterUnitAssumed,
					Text: words.Tell("the on-screen counter shows no unit that could be made out, and the log names none, so that no row is placed by it"),
					Hint: words.Tell(`say unit = "m" or unit = "ft" under [counter]`)})
			}
		}
	}
	return ws
}
