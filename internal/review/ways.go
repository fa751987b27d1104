package review

import (
	"fmt"
	"strings"

	"pushcue/timeline"
	"pushcue/timeline/edits"
	"pushcue/timeline/fault"
)

// warning is one thing a person should know, with the ways out of it.
type warning struct {
	Code string `json:"code"`
	Row  *int   `json:"row"`
	Text string `json:"text"`
	Hint string `json:"hint"`
	Open bool   `json:"open"`
	Ways []way  `json:"ways"`
}

// way is one way out: what the page is to do when it is chosen.
type way struct {
	Do    string         `json:"do"`
	Label string         `json:"label,omitempty"`
	Edit  map[string]any `json:"edit,omitempty"`
	Row   int            `json:"row,omitempty"`
	Field string         `json:"field,omitempty"`
	Value string         `json:"value,omitempty"`
	Key   string         `json:"key,omitempty"`
}

// keysOf are the fields of the job sheet that settle a warning.
var keysOf = map[string][]string{
	"zone-assumed":         {"job.zone"},
	"date-unknown":         {"job.date"},
	"outside-shown":        {"recording.show_from", "recording.show_to"},
	"show-to-past-end":     {"recording.show_to"},
	"reading-impossible":   {"distance.fastest"},
	"counter-reset":        {"distance.fastest"},
	"counter-unit-assumed": {"counter.unit"},
	"clock-unsure":         {"recording.starts"}, "clock-proposed": {"recording.starts"}, "clock-weak": {"recording.starts"}, "clock-by-track": {"recording.starts"},
	"distance-disagrees": {"distance.zero"},
	"log-note":           {"log.charset"},
}

// bySight are warnings about a row that a person settles by pointing at its frame.
var bySight = map[string]bool{
	"row-unplaced": true, "several-passes": true, "times-disagree": true, "video-unusable": true,
	"distance-disagrees": true,
}

func warningsOf(v *view) []warning {
	all := []warning{}
	if v.placed == nil {
		return all
	}
	for _, w := range v.placed.Warnings {
		one := warning{Code: w.Code, Text: w.Text, Hint: w.Hint, Open: w.Open, Ways: waysOut(v, w)}
		if w.Row > 0 {
			one.Row = &w.Row
		}
		all = append(all, one)
	}
	return all
}

func waysOut(v *view, w timeline.Warning) []way {
	ways := []way{}
	if w.Row > 0 && bySight[w.Code] {
		ways = append(ways, way{Do: "seen", Row: w.Row})
	}
	if f, ok := faultOf(v, w); ok && f.Field != "" && f.Row > 0 {
		for _, c := range f.Choices {
			ways = append(ways, way{Do: "fill", Row: f.Row, Field: field(f.Field), Value: c.Value})
		}
		ways = append(ways, way{Do: "fill", Row: f.Row, Field: field(f.Field)})
	}
	if w.Code == "counter-unconfirmed" || w.Code == "counter-ambiguous" || w.Code == "counter-unread" {
		ways = append(ways, way{Do: "counter"})
	}
	if w.Code == "anchor-set-aside" {
		ways = append(ways, withoutAnchor(v, w)...)
	}
	for _, key := range keysOf[w.Code] {
		ways = append(ways, way{Do: "sheet", Key: key})
	}
	return ways
}

// withoutAnchor leaves out the anchor that a warning is about, where it goes by a row.
func withoutAnchor(v *view, w timeline.Warning) []way {
	t := v.placed.Timeline
	for _, s := range t.Clock.SetAside {
		if s.Text != w.Text {
			continue
		}
		for i, a := range t.Sheet.Anchors {
			if a.Row > 0 && isAnchor(s.Anchor.Name, i) {
				return []way{{Do: "edit", Label: spoken(t.Sheet.Job.Language).Review["anchor-away"], Edit: map[string]any{"what": edits.NoAnchor, "row": a.Row}}, {Do: "seen", Row: a.Row}}
			}
		}
	}
	return nil
}

// isAnchor tells whether a name, as messages have it, is that of the sheet's anchor i.
func isAnchor(name string, i int) bool {
	own := fmt.Sprintf("anchor %d", i+1)
	return name == own || strings.HasPrefix(name, own+" ")
}

// faultOf is the fault of the log that a warning passes on.
func faultOf(v *view, w timeline.Warning) (fault.Fault, bool) {
	log := v.placed.Timeline.Log
	if log == nil {
		return fault.Fault{}, false
	}
	for _, list := range []fault.List{log.Faults, log.Unlisted} {
		for _, f := range list {
			if f.Row == w.Row && f.Error() == w.Text {
				return f, true
			}
		}
	}
	return fault.Fault{}, false
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
	for _, f := range v.asked {
		q := question{Text: f.Text, Hint: f.Hint, Where: f.Where(), Column: f.Column, Value: f.Value, Choices: []choice{}}
		if f.Row > 0 {
			q.Row, q.Field = &f.Row, field(f.Field)
		}
		for _, c := range f.Choices {
			if c.Key != "" {
				q.Choices = append(q.Choices, choice{c.Label, map[string]any{"what": edits.Sheet, "values": map[string]any{c.Key: c.Value}}})
			} else if f.Row > 0 {
				q.Choices = append(q.Choices, choice{c.Label, map[string]any{"what": edits.Set, "row": f.Row, "values": map[string]any{field(f.Field): c.Value}}})
			}
		}
		all = append(all, q)
	}
	return all
}
