package overlay

import (
	"fmt"
	"image"
	"strings"

	"pushcue/timeline"
	"pushcue/timeline/codes"
	"pushcue/timeline/words"
)

// warnings tells what the captions couldn't show as it was written.
func (l *Layout) warnings() []timeline.Warning {
	var ws []timeline.Warning
	if l.set.cut {
		ws = append(ws, timeline.Warning{
			Code: codes.CaptionCut,
			Text: words.Tell("the line's name is too long for the caption, which ends in “%s”", l.more),
			Hint: words.Tell("give the line, its start or its end a shorter name in job.toml"),
		})
	}
	ws = append(ws, l.cutLabels()...)
	if hidden := l.hides(); hidden {
		ws = append(ws, timeline.Warning{
			Code: codes.CaptionOverCounter,
			Text: words.Tell("the captions over the picture hide some of what the recorder burned in"),
			Hint: words.Tell(`set [captions] strip = "above" or "below"`),
		})
	}
	return append(ws, l.lacks()...)
}

// cutLabels names the rows whose words had to be cut short.
func (l *Layout) cutLabels() []timeline.Warning {
	var ws []timeline.Warning
	warn := func(m mark) {
		ws = append(ws, timeline.Warning{
			Code: codes.CaptionCut, Row: m.row,
			Text: timeline.AboutRow(m.row, words.Tell("the words are too long for the caption, which ends in “%s”", l.more)),
		})
	}
	for _, m := range l.texts.marks {
		if l.Notes.Rows > 0 {
			if _, cut := l.size.wrap(m.note, float64(l.Notes.Text.Dx()), l.Notes.Rows, l.more); cut {
				warn(m)
			}
		}
		for _, s := range l.set.slots {
			if s.field != fieldLabel {
				continue
			}
			if _, cut := l.size.wrap(m.label, s.wide, 1, l.more); cut {
				warn(m)
			}
		}
	}
	return ws
}

func (l *Layout) hides() bool {
	if l.spec.Captions.Strip != "over" {
		return false
	}
	for _, c := range l.clearAreas() {
		if c.Overlaps(l.Place.Ground) || c.Overlaps(l.Notes.Ground) {
			return true
		}
	}
	return l.Place.Ground.Overlaps(l.Notes.Ground) && l.Place.Ground != image.Rectangle{}
}

// lacks names the characters that the font has no picture of.
func (l *Layout) lacks() []timeline.Warning {
	if len(l.teller.missing) == 0 {
		return nil
	}
	named := make([]string, 0, len(l.teller.missing))
	for _, r := range l.teller.missing {
		named = append(named, fmt.Sprintf("U+%04X", r))
	}
	const most = 12
	if n := len(named); n > most {
		named = append(named[:most], fmt.Sprintf("%d more", n-most))
	}
	return []timeline.Warning{{
		Code: codes.CaptionGlyph,
		Text: words.Tell("captions can't show these characters, and name them in brackets instead: %s", strings.Join(named, ", ")),
	}}
}
