package handover

import (
	"context"
	"fmt"
	"path"
	"path/filepath"
	"slices"
	"time"

	"pushcue/internal/handover/account"
	"pushcue/internal/handover/spoken"
	"pushcue/internal/shelf"
	"pushcue/overlay"
	"pushcue/timeline/words"
)

const findingsName = "clips/findings.mp4"

// A wantedClip is one excerpt and its name.
type wantedClip struct {
	excerpt overlay.Excerpt
	name    string
	key     string
	todo    bool
}

// excerpts are a clip of each defect, and the one film of all of them.
type excerpts struct {
	*making
	spoken *spokenNotes
	found  overlay.Findings
	clips  []wantedClip
	holds  []spoken.Hold // in the film
	key    string        // of the film
	encode *encode       // of the film; nil: not to be made
}

func (e *excerpts) plan(ctx context.Context) error {
	e.planClips()
	e.planHolds()
	if len(e.clips) == 0 {
		return nil
	}
	if err := e.planKeys(); err != nil {
		return err
	}
	wanted := !e.opts.Quick && e.wants["clips"]
	cutting := false
	for i := range e.clips {
		c := &e.clips[i]
		have, err := e.shelf.Has(ctx, c.name, c.key)
		if err != nil {
			return err
		}
		c.todo = !have && wanted
		cutting = cutting || c.todo
	}
	have, err := e.shelf.Has(ctx, findingsName, e.key)
	if err != nil {
		return err
	}
	ours := e.shelf.Record.Files[findingsName].Key == e.key && !slices.Contains(e.shelf.Foreign, findingsName)
	// Clips can't be cut out of a film that stands still in places.
	if wanted && (!have || cutting && (!ours || len(e.holds) > 0)) {
		e.need += e.job.RecordedBytes() / 2
		e.encode = &encode{
			temp: filepath.Join(e.shelf.Temp.Path(), "findings.mp4"), layout: e.captions.excerpts, plan: &e.found, sound: e.hasSound(),
		}
	}
	return nil
}

func (e *excerpts) planClips() {
	e.found = overlay.PlanFindings(e.placed.Timeline)
	for _, x := range e.found.Excerpts {
		name := e.pictureName(e.placed.Timeline.Observations[x.Observation-1])
		if x.End {
			name += "_end"
		}
		e.clips = append(e.clips, wantedClip{excerpt: x, name: path.Join("clips", name+".mp4")})
	}
}

func (e *excerpts) planKeys() error {
	notes, err := scriptSum(e.captions.excerpts.NotesScript())
	if err != nil {
		return err
	}
	pictures := shelf.KeyOf("findings", e.sourceKeys(), e.slow, e.found.Ranges, e.found.Keys, e.soundKey(), e.encoderKey(mostTimes), notes, shapeOf(e.captions.excerpts))
	e.key = pictures
	if len(e.holds) > 0 {
		e.key = shelf.KeyOf("findings with notes", pictures, e.holdKeys())
	}
	for i := range e.clips {
		c := &e.clips[i]
		c.key = shelf.KeyOf("clip", pictures, c.excerpt.From, c.excerpt.Count)
	}
	return nil
}

func (e *excerpts) join(b *burn) (err error) {
	if e.encode == nil {
		return nil
	}
	e.encode.script, err = e.writeScript("findings.ass", e.captions.excerpts.NotesScript())
	b.encodes = append(b.encodes, e.encode)
	return err
}

func (e *excerpts) finish(ctx context.Context) error {
	if e.encode == nil {
		return e.cutClips(ctx, e.shelf.Path(findingsName))
	}
	// Clips are cut from the file while it still waits: its name may be taken by a
	// file that isn't ours.
	if err := e.cutClips(ctx, e.encode.temp); err != nil {
		return err
	}
	film, err := e.withNotes(ctx, e.encode.temp)
	if err != nil {
		return err
	}
	return e.shelf.Publish(ctx, shelf.Piece{Name: findingsName, Key: e.key, Temp: film})
}

func (e *excerpts) enter(made *account.Made) {
	made.Clips = map[int]string{}
	for _, c := range e.clips {
		if e.isThere(c.name) && !c.excerpt.End {
			made.Clips[e.placed.Timeline.Observations[c.excerpt.Observation-1].Row] = c.name
		}
	}
}

func (e *excerpts) cutClips(ctx context.Context, from string) error {
	var cuts []cut
	var pieces []shelf.Piece
	for i, c := range e.clips {
		if !c.todo {
			continue
		}
		tmp := filepath.Join(e.shelf.Temp.Path(), fmt.Sprintf("clip%d.mp4", i))
		rec := e.placed.Recording
		last := rec.Frame(c.excerpt.Last)
		long := last.Until - rec.Frame(c.excerpt.First).At
		cuts = append(cuts, cut{tmp: tmp, from: c.excerpt.From, long: long, count: c.excerpt.Count, last: last})
		pieces = append(pieces, shelf.Piece{Name: c.name, Key: c.key, Temp: tmp})
	}
	if len(cuts) == 0 {
		return nil
	}
	from, err := e.shelf.Readable(from)
	if err != nil {
		return err
	}
	e.progress.Step(words.Tell("cutting clips"), float64(len(cuts)))
	if err := copyOut(ctx, e.tools, from, cuts, func(n int) { e.progress.Advance(float64(n)) }); err != nil {
		return err
	}
	return e.shelf.Publish(ctx, pieces...)
}

// planHolds plans where findings.mp4 stands still while a note is heard: on the frame
// of its observation.
func (e *excerpts) planHolds() {
	if !e.job.Sheet.Clips.Spoken {
		return
	}
	for _, o := range e.shown() { // they are in the order of the film
		for _, n := range e.spoken.notesOf(o.Row) {
			if frames, at, ok := e.found.Stand(o.Frame); ok {
				e.holds = append(e.holds, spoken.Hold{Frames: frames, At: time.Duration(at), Note: e.spoken.notes[n].file, Length: e.spoken.notes[n].length})
			}
		}
	}
}

// holdKeys is what findings.mp4 has of the notes.
func (e *excerpts) holdKeys() []any {
	var keys []any
	for _, o := range e.shown() {
		for _, n := range e.spoken.notesOf(o.Row) {
			keys = append(keys, o.Number, e.spoken.notes[n].key)
		}
	}
	return keys
}

// withNotes puts the spoken notes between the excerpts, in the film that waits.
func (e *excerpts) withNotes(ctx context.Context, film string) (string, error) {
	if len(e.holds) == 0 {
		return film, nil
	}
	e.progress.Step(words.Tell("putting spoken notes into the excerpts"), 0)
	ranges := e.found.Ranges
	last := e.placed.Recording.Frame(ranges[len(ranges)-1].Last)
	to := filepath.Join(e.shelf.Temp.Path(), "findings-spoken.mp4")
	for i := range e.holds {
		var err error
		if e.holds[i].Note, err = e.shelf.Readable(e.holds[i].Note); err != nil {
			return "", err
		}
	}
	f := spoken.Film{Path: film, Frames: e.found.Frames, Last: last.Until.Sub(last.At), Holds: e.holds}
	if err := spoken.Insert(ctx, e.tools, f, to); err != nil {
		return "", err
	}
	return to, holds(ctx, e.tools, to, int64(e.found.Frames))
}
