package handover

import (
	"bytes"
	"context"
	"encoding/json"

	"pushcue/internal/handover/account"
	"pushcue/internal/placing"
	"pushcue/timeline"
	"pushcue/timeline/document"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

const timelineName = "timeline.json"

// timelineFile is timeline.json: the timeline for programs. It names only files that are
// there.
type timelineFile struct {
	*making
	plansNothing
	joinsNothing
	entersNothing
	others []product
}

func (f *timelineFile) finish(ctx context.Context) error {
	d := document.Of(f.line(), words.English())
	d.Warnings = documentWarnings(f.warnings, words.English())
	f.warnOfNames() // to whoever makes it, not to whoever reads it
	for i := range d.Recording.Parts {
		sum := f.sourceOf[f.job.Videos[i].Path]
		d.Recording.Parts[i].SHA256 = &sum
	}
	f.made = account.Made{LeftOut: len(f.placed.LeftOut)}
	for _, p := range f.others {
		p.enter(&f.making.made)
	}
	nameMade(d, f.made, f.placed.Timeline.ShowFrom)
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	if err := e.Encode(d); err != nil {
		return err
	}
	return f.shelf.Text(ctx, timelineName, b.Bytes())
}

// Document is the timeline for programs, before anything was made of it.
func Document(p *placing.Placed) *document.Document {
	return DocumentIn(p, words.English())
}

// DocumentIn is Document with its sentences in another language.
func DocumentIn(p *placing.Placed, language *words.Language) *document.Document {
	d := document.Of(p.Timeline, language)
	d.Warnings = documentWarnings(p.Warnings, language)
	return d
}

func documentWarnings(ws []timeline.Warning, language *words.Language) []document.Warning {
	out := make([]document.Warning, len(ws))
	for i, w := range ws {
		out[i] = document.WarningOf(w, language)
	}
	return out
}

// nameMade names in a document what was made.
func nameMade(d *document.Document, made account.Made, showFrom timecode.Video) {
	h := &document.Handover{
		VideoOffset: showFrom.Seconds(), Videos: []document.Video{}, AsFilmed: []document.AsFilmed{}, LeftOut: made.LeftOut,
		Subtitles: orEmpty(made.Subtitles), Spoken: spokenIn(made, 0), Photos: orEmpty(made.Photos[0]),
	}
	for _, v := range made.Videos {
		h.Videos = append(h.Videos, document.Video{File: v.File, From: v.From.Seconds()})
	}
	if len(h.Videos) > 0 {
		h.Video = &h.Videos[0].File
	}
	for _, a := range made.AsFilmed {
		h.AsFilmed = append(h.AsFilmed, document.AsFilmed{File: a.File, From: a.From.Seconds(), Subtitles: orEmpty(a.Subtitles)})
	}
	d.Handover = h
	for i := range d.Observations {
		o := &d.Observations[i]
		o.Spoken, o.Photos = spokenIn(made, o.Row), orEmpty(made.Photos[o.Row])
		if still, ok := made.Stills[o.Row]; ok {
			o.Still = &still.File
			if still.At != nil {
				at := still.At.Seconds()
				o.StillTime = &at
			}
		}
		if clip, ok := made.Clips[o.Row]; ok {
			o.Clip = &clip
		}
	}
	for i := range d.Unplaced {
		u := &d.Unplaced[i]
		u.Spoken, u.Photos = spokenIn(made, u.Row), orEmpty(made.Photos[u.Row])
	}
}

func spokenIn(made account.Made, row int) []document.Spoken {
	all := []document.Spoken{}
	for _, n := range made.Spoken[row] {
		s := document.Spoken{File: n.File, Duration: n.Length.Seconds()}
		if n.Clip != "" {
			s.Clip = &n.Clip
		}
		all = append(all, s)
	}
	return all
}

// orEmpty makes an empty list stand as [] and not as null.
func orEmpty(names []string) []string { return append([]string{}, names...) }
