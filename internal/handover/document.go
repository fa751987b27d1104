package handover

import (
	"bytes"
	"context"
	"encoding/json"

	"pushcue/timeline"
	"pushcue/timeline/document"
	"pushcue/timeline/words"
)

const timelineName = "timeline.json"

// Document is the timeline for programs, before anything was made of it.
func (p *Placed) Document() *document.Document {
	return p.DocumentIn(words.English())
}

// DocumentIn is Document with its sentences in another language.
func (p *Placed) DocumentIn(language *words.Language) *document.Document {
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

// writeTimeline writes timeline.json: it names only files that are there.
func (m *maker) writeTimeline(ctx context.Context) error {
	d := document.Of(m.placed.Timeline, words.English())
	d.Warnings = documentWarnings(m.warnings, words.English())
	m.warnOfNames() // to whoever makes it, not to whoever reads it
	for i := range d.Recording.Parts {
		sum := m.sourceOf[m.job.Videos[i].Path]
		d.Recording.Parts[i].SHA256 = &sum
	}
	d.Handover = m.made()
	m.nameMade(d)
	if m.opts.For == forBuyer {
		d = d.WithoutContacts()
	}
	m.document = d
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	if err := e.Encode(d); err != nil {
		return err
	}
	return m.folder.text(ctx, timelineName, b.Bytes())
}

// made lists the videos and what goes with them.
func (m *maker) made() *document.Handover {
	h := &document.Handover{
		VideoOffset: m.placed.Timeline.ShowFrom.Seconds(),
		Videos:      []document.Video{}, Subtitles: []string{}, AsFilmed: []document.AsFilmed{},
		Spoken: []document.Spoken{}, Photos: []string{}, LeftOut: len(m.placed.LeftOut),
	}
	for _, v := range m.videos {
		h.Videos = append(h.Videos, document.Video{File: v.name, From: v.from.Seconds()})
	}
	if len(h.Videos) > 0 {
		h.Video = &h.Videos[0].File
	}
	h.Subtitles = append(h.Subtitles, m.sidecars...)
	for _, a := range m.asFilmed {
		if !m.isThere(a.name) {
			continue
		}
		subtitles := []string{}
		if name := beside(a.name, ".srt"); m.isThere(name) {
			subtitles = append(subtitles, name)
		}
		h.AsFilmed = append(h.AsFilmed, document.AsFilmed{File: a.name, From: a.from.Seconds(), Subtitles: subtitles})
	}
	return h
}

// nameMade gives each observation its still and its clip.
func (m *maker) nameMade(d *document.Document) {
	m.nameAttached(d)
	still, clip := map[int]wantedStill{}, map[int]string{}
	for _, w := range m.stills {
		if m.isThere(stillName(w.base)) {
			still[w.observation.Number] = w
		}
	}
	for _, c := range m.clips {
		if m.isThere(c.name) && !c.excerpt.End {
			clip[c.excerpt.Observation] = c.name
		}
	}
	for i := range d.Observations {
		o := &d.Observations[i]
		if w, ok := still[o.Number]; ok {
			name := stillName(w.base)
			o.Still = &name
			if e := m.folder.record.files[name]; e.Key == w.key {
				at := e.At.Seconds()
				o.StillTime = &at
			}
		}
		if name, ok := clip[o.Number]; ok {
			o.Clip = &name
		}
	}
}

// nameAttached gives each row its spoken notes and photos, and the push the rest.
func (m *maker) nameAttached(d *document.Document) {
	observation, unplaced := map[int]int{}, map[int]int{}
	for i, o := range d.Observations {
		observation[o.Row] = i
	}
	for i, u := range d.Unplaced {
		unplaced[u.Row] = i
	}
	for i, n := range m.notes {
		if !m.isThere(n.name) {
			continue
		}
		s := document.Spoken{File: n.name, Duration: n.length.Seconds()}
		taken := false
		for _, row := range n.from.Rows {
			if at, ok := observation[row]; ok {
				s.Clip = m.narration(i, d.Observations[at].Number)
				d.Observations[at].Spoken = append(d.Observations[at].Spoken, s)
				taken = true
			} else if at, ok := unplaced[row]; ok {
				d.Unplaced[at].Spoken = append(d.Unplaced[at].Spoken, s)
				taken = true
			}
		}
		if !taken {
			d.Handover.Spoken = append(d.Handover.Spoken, s)
		}
	}
	for _, p := range m.photos {
		if !m.isThere(p.name) {
			continue
		}
		taken := false
		for _, row := range p.from.Rows {
			if at, ok := observation[row]; ok {
				d.Observations[at].Photos = append(d.Observations[at].Photos, p.name)
				taken = true
			} else if at, ok := unplaced[row]; ok {
				d.Unplaced[at].Photos = append(d.Unplaced[at].Photos, p.name)
				taken = true
			}
		}
		if !taken {
			d.Handover.Photos = append(d.Handover.Photos, p.name)
		}
	}
}

// narration is the still of an observation with one of its notes, where it was made.
func (m *maker) narration(note, observation int) *string {
	for _, r := range m.narrations {
		if r.note == note && m.stills[r.still].observation.Number == observation && m.isThere(r.name) {
			return &r.name
		}
	}
	return nil
}

func (m *maker) isThere(name string) bool { return m.folder.wanted[name] != "" }
