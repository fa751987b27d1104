package overlay

import (
	"iter"
	"math"
	"sort"

	"pushcue/subtitles"
	"pushcue/timeline/timecode"
)

// PlaceScript is the burn's source for what the customer watches whole: the place
// strip, and what was seen as far as the captions are to show it. It covers the
// frames from up to, not including, to, on the recording's time.
//
// It holds one event for each change of a shown text, on the very frame, and is
// made while it is written: nothing of it is kept.
func (l *Layout) PlaceScript(from, to timecode.Video) Script {
	return l.script(l.events(l.span(from, to)))
}

// NotesScript is the burn's source for excerpts, of a layout with notes: place and
// notes, each note from the frame of its observation to the next one's or the end
// of its excerpt. It is on the recording's time as well: see Findings.Pick.
func (l *Layout) NotesScript() Script { return l.PlaceScript(0, l.teller.t.Recording.End) }

func (l *Layout) span(from, to timecode.Video) Range {
	frames := l.teller.t.Recording.Frames
	return Range{
		First: sort.Search(len(frames), func(i int) bool { return frames[i] >= from }),
		Last:  sort.Search(len(frames), func(i int) bool { return frames[i] >= to }) - 1,
	}
}

// events yields everything shown in the span.
func (l *Layout) events(span Range) iter.Seq[subtitles.Event] {
	return func(yield func(subtitles.Event) bool) {
		if span.Last < span.First {
			return
		}
		ok := true
		put := func(e subtitles.Event) bool { ok = ok && yield(e); return ok }
		if l.spec.Captions.Strip == "over" {
			put(l.ground(l.Place, span))
		}
		line := 0
		for _, s := range l.set.slots {
			switch s.field {
			case fieldLine:
				put(l.text(l.Place, s, span, l.set.line[line]))
				line++
			case fieldDistance:
				l.changes(s, span, l.teller.words.DistanceAt, put)
			case fieldTime:
				l.changes(s, span, l.teller.words.TimeAt, put)
			case fieldLabel:
				l.labels(s, span, put)
			}
		}
		l.noteEvents(span, put)
	}
}

// changes yields an event for each change of a text that runs with the recording.
func (l *Layout) changes(s slot, span Range, tell func(timecode.Video) string, put func(subtitles.Event) bool) {
	frames := l.teller.t.Recording.Frames
	since, shown := span.First, tell(frames[span.First])
	for i := span.First + 1; i <= span.Last; i++ {
		text := tell(frames[i])
		if text == shown {
			continue
		}
		if !put(l.text(l.Place, s, Range{since, i - 1}, shown)) {
			return
		}
		since, shown = i, text
	}
	put(l.text(l.Place, s, Range{since, span.Last}, shown))
}

func (l *Layout) labels(s slot, span Range, put func(subtitles.Event) bool) {
	for _, m := range l.texts.marks {
		if r, ok := m.within(span); ok {
			lines, _ := l.size.wrap(m.label, s.wide, 1, l.more)
			put(l.text(l.Place, s, r, lines[0]))
		}
	}
}

func (l *Layout) noteEvents(span Range, put func(subtitles.Event) bool) {
	if l.Notes.Rows == 0 {
		return
	}
	for _, m := range l.texts.marks {
		r, ok := m.within(span)
		if !ok {
			continue
		}
		if l.spec.Captions.Strip == "over" {
			put(l.ground(l.Notes, r))
		}
		lines, _ := l.size.wrap(m.note, float64(l.Notes.Text.Dx()), l.Notes.Rows, l.more)
		for i, text := range lines {
			put(l.text(l.Notes, slot{row: i, wide: float64(l.Notes.Text.Dx())}, r, text))
		}
	}
}

func (m mark) within(span Range) (Range, bool) {
	r := Range{max(m.frame, span.First), min(m.until-1, span.Last)}
	return r, r.First <= r.Last
}

// across is where a slot's text starts, or ends, from the left.
func (l *Layout) across(b Block, s slot) float64 { return float64(b.Text.Min.X) + math.Round(s.x) }

// baseline is where the row's letters stand, on a whole pixel so that they are as
// crisp as can be.
func (l *Layout) baseline(b Block, row int) float64 {
	free := float64(b.Ground.Dy()) - float64(b.Rows)*l.size.line()
	return math.Round(float64(b.Ground.Min.Y) + free/2 + float64(row)*l.size.line() + l.size.rise())
}
