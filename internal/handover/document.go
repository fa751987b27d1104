package handover

import (
	"bytes"
	"context"
	"encoding/json"
	"slices"

	"pushcue/internal/handover/account"
	"pushcue/internal/job"
	"pushcue/internal/placing"
	"pushcue/timeline"
	"pushcue/timeline/document"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

const timelineName = "timeline.json"

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

// line is the timeline as the handover's reader may know it.
func (m *maker) line() *timeline.Timeline {
	t := *m.placed.Timeline
	if m.opts.For == job.ForBuyer {
		t.Sheet = t.Sheet.WithoutContacts()
	}
	return &t
}

// writeTimeline writes timeline.json: it names only files that are there.
func (m *maker) writeTimeline(ctx context.Context) error {
	d := document.Of(m.line(), words.English())
	d.Warnings = documentWarnings(m.warnings, words.English())
	m.warnOfNames() // to whoever makes it, not to whoever reads it
	for i := range d.Recording.Parts {
		sum := m.sourceOf[m.job.Videos[i].Path]
		d.Recording.Parts[i].SHA256 = &sum
	}
	m.made = m.listMade()
	nameMade(d, m.made, m.placed.Timeline.ShowFrom)
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	if err := e.Encode(d); err != nil {
		return err
	}
	return m.folder.Text(ctx, timelineName, b.Bytes())
}

// listMade lists what was made of the timeline and is there.
func (m *maker) listMade() account.Made {
	made := account.Made{
		Subtitles: m.sidecars, LeftOut: len(m.placed.LeftOut),
		Stills: map[int]account.Still{}, Clips: map[int]string{}, Spoken: map[int][]account.Note{}, Photos: map[int][]string{},
	}
	for _, v := range m.videos {
		made.Videos = append(made.Videos, account.Film{File: v.name, From: v.from})
	}
	for _, a := range m.asFilmed {
		if !m.isThere(a.name) {
			continue
		}
		film := account.Film{File: a.name, From: a.from}
		if name := beside(a.name, ".srt"); m.isThere(name) {
			film.Subtitles = append(film.Subtitles, name)
		}
		made.AsFilmed = append(made.AsFilmed, film)
	}
	for _, w := range m.stills {
		name := stillName(w.base)
		if !m.isThere(name) {
			continue
		}
		still := account.Still{File: name}
		if e := m.folder.Record.Files[name]; e.Key == w.key {
			still.At = &e.At
		}
		made.Stills[w.observation.Row] = still
	}
	row, number := map[int]int{}, map[int]int{} // of observations; rows that aren't placed have number 0
	for _, o := range m.placed.Timeline.Observations {
		row[o.Number], number[o.Row] = o.Row, o.Number
	}
	for _, u := range m.placed.Timeline.Unplaced {
		number[u.Row] = 0
	}
	for _, c := range m.clips {
		if m.isThere(c.name) && !c.excerpt.End {
			made.Clips[row[c.excerpt.Observation]] = c.name
		}
	}
	belongs := func(rows []int) []int { // to which of the rows; to none of them: row 0
		rows = slices.DeleteFunc(slices.Clone(rows), func(r int) bool { _, known := number[r]; return !known })
		if len(rows) == 0 {
			return []int{0}
		}
		return rows
	}
	for i, n := range m.notes {
		if !m.isThere(n.name) {
			continue
		}
		for _, r := range belongs(n.from.Rows) {
			note := account.Note{File: n.name, Length: n.length, Clip: m.narration(i, number[r])}
			made.Spoken[r] = append(made.Spoken[r], note)
		}
	}
	for _, p := range m.photos {
		if !m.isThere(p.name) {
			continue
		}
		for _, r := range belongs(p.from.Rows) {
			made.Photos[r] = append(made.Photos[r], p.name)
		}
	}
	return made
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

// narration is the still of an observation with one of its notes, where it was made.
func (m *maker) narration(note, observation int) string {
	for _, r := range m.narrations {
		if r.note == note && m.stills[r.still].observation.Number == observation && m.isThere(r.name) {
			return r.name
		}
	}
	return ""
}

func (m *maker) isThere(name string) bool { return m.folder.Wanted[name] != "" }
