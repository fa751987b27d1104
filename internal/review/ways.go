package review

import (
	"maps"
	"slices"

	"pushcue/timeline"
	"pushcue/timeline/codes"
	"pushcue/timeline/edits"
	"pushcue/timeline/timecode"
	"pushcue/timeline/wording"
	"pushcue/timeline/words"
)

// warning is one thing a person should know, with the ways out of it.
type warning struct {
	Code    codes.Code `json:"code"`
	Row     *int       `json:"row"`
	Key     string     `json:"key"`  // what is noted goes by it
	Said    string     `json:"said"` // Text in English, whatever the page's language: what the person was shown is kept
	Text    string     `json:"text"`
	Hint    string     `json:"hint"`
	Open    bool       `json:"open"`
	Noted   *string    `json:"noted"` // the edit by which a person said that it may stay as it is
	Ways    []way      `json:"ways"`
	OwnCard bool       `json:"own_card"` // it is shown on a card of its own, beside the list
}

// way is one way out: what the page is to do when it is chosen, and the word for it
// where doing alone doesn't tell.
type way struct {
	Do    string         `json:"do"`
	Say   string         `json:"say,omitempty"`
	Edit  map[string]any `json:"edit,omitempty"`
	Undo  string         `json:"undo,omitempty"`
	Row   int            `json:"row,omitempty"`
	Field string         `json:"field,omitempty"`
	Value string         `json:"value,omitempty"`
	Key   string         `json:"key,omitempty"`
	Video *float64       `json:"video_s,omitempty"`
}

func warningsOf(v *view) []warning {
	all := []warning{}
	if v.placed == nil {
		return all
	}
	var noted []edits.Edit
	for _, e := range v.job.Edits.Live() {
		if e.What == edits.Noted {
			noted = append(noted, e)
		}
	}
	for _, w := range v.placed.Warnings {
		one := warningOf(w, v.speaks())
		one.Ways = waysOut(v, w)
		for _, e := range noted {
			if e.Key == w.Key() || e.Key == "" && w.Matches(e.Code, e.Text) {
				one.Noted = &e.ID
			}
		}
		all = append(all, one)
	}
	return all
}

// warningOf is a warning in the page's language, without ways out.
func warningOf(w timeline.Warning, l *words.Language) warning {
	one := warning{Code: w.Code, Key: w.Key(), Said: w.Text.String(), Text: l.Put(w.Text), Hint: l.Put(w.Hint), Open: w.Open(), Ways: []way{}}
	info, _ := w.Code.Info()
	one.OwnCard = info.OwnCard
	if w.Row > 0 {
		one.Row = &w.Row
	}
	return one
}

// waysOut are the ways out of a warning, the one that settles it most directly first.
// The page adds that it may stay as it is.
func waysOut(v *view, w timeline.Warning) []way {
	info, _ := w.Code.Info()
	ways := confirmed(v, w, info)
	for _, row := range []int{w.Row, w.Out.Row} {
		if row > 0 && (info.Takes(codes.PointAtRow) || row == w.Out.Row) {
			ways = append(ways, way{Do: "seen", Row: row})
		}
	}
	if f := w.Out.Fault; info.Takes(codes.FillCell) && f != nil && f.Field != "" && f.Row > 0 {
		for _, c := range f.Choices {
			ways = append(ways, way{Do: "fill", Row: f.Row, Field: field(f.Field), Value: c.Value})
		}
		ways = append(ways, way{Do: "fill", Row: f.Row, Field: field(f.Field)})
	}
	if info.Takes(codes.ConfirmCounter) {
		ways = append(ways, way{Do: "counter"})
	}
	if info.Takes(codes.DropAnchor) {
		ways = append(ways, withoutAnchor(v, w)...)
	}
	if info.Takes(codes.UndoEdit) {
		ways = append(ways, withoutEdit(v, w)...)
	}
	if info.Takes(codes.TieClock) {
		ways = append(ways, way{Do: "tie", Video: momentOf(w)})
	} else {
		ways = append(ways, looks(w.Out.At)...)
	}
	for _, key := range info.Fields {
		ways = append(ways, way{Do: "sheet", Key: key})
	}
	return ways
}

// confirmed turns what was guessed, or left to be said, into what a person says.
func confirmed(v *view, w timeline.Warning, info codes.Info) (ways []way) {
	if key := info.Assumed; key != "" {
		values := choicesOf(key)
		if set, told := v.job.Sheet.Values()[key].(string); len(values) == 0 && told && set != "Local" {
			values = []string{set}
		}
		for _, value := range values {
			ways = append(ways, way{Do: "edit", Say: "way-fill-with", Value: value, Edit: map[string]any{"what": edits.Sheet, "values": map[string]any{key: value}}})
		}
	}
	if t := w.Out.Tie; t != nil {
		ways = append(ways, way{Do: "edit", Say: "way-tie-yes", Edit: map[string]any{"what": edits.Tie, "log": t.Log, "half_s": t.Half.Seconds(), "video_s": t.Video.Seconds()}})
	}
	if !info.Takes(codes.SayPlace) {
		return ways
	}
	for _, r := range w.Out.Reset {
		ways = append(ways, way{Do: "edit", Say: "way-reset", Value: wording.In(v.speaks(), v.placed.Timeline).Length(r.Place),
			Edit: map[string]any{"what": edits.Reset, "video_s": r.At.Seconds(), "length": r.Place.Format(v.job.Sheet.Job.Units, '.')}})
	}
	return ways
}

// looks lead to moments of the recording, the first few of many.
func looks(at []timecode.Video) (ways []way) {
	const most = 4
	for _, moment := range at[:min(len(at), most)] {
		s := moment.Seconds()
		ways = append(ways, way{Do: "goto", Video: &s})
	}
	return ways
}

// momentOf is the picture that a warning is about; the first one where it names none.
func momentOf(w timeline.Warning) *float64 {
	s := 0.0
	switch {
	case w.Out.Tie != nil:
		s = w.Out.Tie.Video.Seconds()
	case len(w.Out.At) > 0:
		s = w.Out.At[0].Seconds()
	}
	return &s
}

// withoutAnchor leaves out the anchor that a warning is about, or leads to it where it
// stands in the job sheet by itself.
func withoutAnchor(v *view, w timeline.Warning) []way {
	t := v.placed.Timeline
	if w.Out.Anchor == 0 || t.Clock == nil || w.Out.Anchor > len(t.Clock.SetAside) {
		return nil
	}
	aside := t.Clock.SetAside[w.Out.Anchor-1].Anchor
	if aside.Number == 0 || aside.Number > len(t.Sheet.Anchors) {
		return nil
	}
	switch a := t.Sheet.Anchors[aside.Number-1]; {
	case a.Row > 0:
		return []way{{Do: "edit", Say: "anchor-away", Edit: map[string]any{"what": edits.NoAnchor, "row": a.Row}}, {Do: "seen", Row: a.Row}}
	case a.Edit != "":
		return append([]way{{Do: "undo", Say: "anchor-away", Undo: a.Edit}}, looks([]timecode.Video{aside.Video})...)
	}
	return looks([]timecode.Video{aside.Video})
}

// withoutEdit takes back a correction that no longer fits, and leads to where it can be
// made again.
func withoutEdit(v *view, w timeline.Warning) (ways []way) {
	for _, u := range v.placed.Unfit {
		e := u.Edit
		if e.ID != w.Out.Edit {
			continue
		}
		if e.Row > 0 && v.written != nil && e.Row <= len(v.written.Rows) {
			ways = append(ways, way{Do: "row", Row: e.Row})
		}
		if e.What == edits.Sheet {
			for _, key := range slices.Sorted(maps.Keys(e.Values)) {
				ways = append(ways, way{Do: "sheet", Key: key})
			}
		}
		return append(ways, way{Do: "undo", Say: "way-take-back", Undo: e.ID})
	}
	return nil
}

// field is a column as a person may fill it in.
func field(column string) string {
	switch column {
	case "elapsed", "date":
		return "time"
	case "code":
		return "what"
	}
	return column
}

// question is one thing that must be answered before rows can be placed.
type question struct {
	Text    string   `json:"text"`
	Hint    string   `json:"hint"`
	Where   string   `json:"where"`
	Column  string   `json:"column"`
	Value   string   `json:"value"`
	Row     *int     `json:"row"`
	Field   string   `json:"field"`
	Choices []choice `json:"choices"`
}

// choice is an answer: the page sends its edit as it is.
type choice struct {
	Label string         `json:"label"`
	Edit  map[string]any `json:"edit"`
}

func questionsOf(v *view) []question {
	all := []question{}
	l := v.speaks()
	for _, f := range v.asked {
		q := question{Text: l.Put(f.Text), Hint: l.Put(f.Hint), Where: l.Put(f.Where()), Column: f.Column, Value: f.Value, Choices: []choice{}}
		if f.Row > 0 {
			q.Row, q.Field = &f.Row, field(f.Field)
		}
		for _, c := range f.Choices {
			if c.Key != "" {
				q.Choices = append(q.Choices, choice{l.Put(c.Label), map[string]any{"what": edits.Sheet, "values": map[string]any{c.Key: c.Value}}})
			} else if f.Row > 0 {
				q.Choices = append(q.Choices, choice{l.Put(c.Label), map[string]any{"what": edits.Set, "row": f.Row, "values": map[string]any{field(f.Field): c.Value}}})
			}
		}
		all = append(all, q)
	}
	return all
}
