package wording

import (
	"fmt"
	"strings"
	"unicode"

	"pushcue/timeline"
	"pushcue/timeline/fieldlog"
)

// Kind says what was seen: the language's word where the kind is known, otherwise what
// the log says; "" where the row names nothing.
func (w *Wording) Kind(row *fieldlog.Row) string {
	switch {
	case row == nil:
		return ""
	case row.What.Key != "":
		return w.l.Kind(row.What.Key)
	}
	if !strings.ContainsFunc(row.What.Text, unicode.IsGraphic) {
		return "" // nothing that anybody could see
	}
	return strings.TrimSpace(row.What.Text)
}

// Name is what an observation is called beside its number: its kind, or that the log
// doesn't say what was seen.
func (w *Wording) Name(o *timeline.Observation) string {
	if kind := w.Kind(o.Entry); kind != "" {
		return kind
	}
	return w.l.Say("not-named")
}

// Label is number and kind: "3. roots", or "observation 3" where there is no kind.
func (w *Wording) Label(o *timeline.Observation) string {
	if kind := w.Kind(o.Entry); kind != "" {
		return fmt.Sprintf("%d. %s", o.Number, kind)
	}
	return w.l.Say("observation", o.Number)
}

// ShortKind is Kind without an explanation in brackets, for file names.
func (w *Wording) ShortKind(row *fieldlog.Row) string {
	kind := w.Kind(row)
	if row != nil && row.What.Key != "" {
		kind, _, _ = strings.Cut(kind, " (")
	}
	return kind
}

// LogWords is what the log calls it, where that differs from the words shown; else "".
func (w *Wording) LogWords(row *fieldlog.Row) string {
	if row == nil {
		return ""
	}
	text := strings.TrimSpace(row.What.Text)
	if text == "" || strings.EqualFold(text, w.Kind(row)) {
		return ""
	}
	return w.l.Say("page-written", text)
}

// Note is what the technician wrote beside the observation.
func (w *Wording) Note(row *fieldlog.Row) string {
	if row == nil {
		return ""
	}
	return row.Note
}
