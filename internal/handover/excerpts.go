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
	pictures := shelf.KeyOf("findings", e.sourceKeys(), e.slow, e.found.Ranges, e.found.Keys, e.soundKey(), e.tools.Encoder, e.encoding.Preset, e.encoding.CRF, notes, shapeOf(e.captions.excerpts))
