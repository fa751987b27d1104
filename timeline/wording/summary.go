package wording

import (
	"slices"
	"strings"

	"pushcue/timeline/codes"
	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
)

// A Summary is what a reader is told first: what the technician noted and advises, and
// what stands in the way of believing it. It never says that a line is sound: only what
// was noted, by whom, on which length.
type Summary struct {
	Verdict []string // sentences; the first one says how many faults were noted
	Groups  []Group  // what was noted, the most pressing first
	Noted   string   // parts of a sound line, counted; "" without any
	Missing []string // what may hide a fault: unread cells, rows beyond the recording's end …
}

// A Group is what was noted, by what the technician advises.
type Group struct {
	Title   string
	Caution string // what to do before anything else; "" for most
	Items   []Item
}

// An Item is one entry of a group.
type Item struct {
	Number int // of the observation; 0 for a row without a place on the recording
	Row    int // of the log
	What   string
	Where  string // "" when unknown
}

// entry is a row that is handed over, placed or not.
type entry struct {
	row    *fieldlog.Row
	number int
	label  string // "3. roots", or its row of the log
	what   string
	where  string
}

// Summary sums the push up.
func (w *Wording) Summary() Summary {
	var s Summary
	if w.t.Log == nil && len(w.t.Observations) == 0 {
		s.Verdict = []string{w.l.Say("summary-no-log"), w.l.Say("summary-not-judged")}
		return s
	}
	entries := w.entries()
	byClass := make([][]Item, classes)
	dangers := map[string]bool{}
	unplaced := 0
	for _, e := range entries {
		c := classOf(e.row)
		byClass[c] = append(byClass[c], Item{Number: e.number, Row: e.row.Number, What: e.what, Where: e.where})
		if c == danger {
			dangers[e.row.What.Key] = true
		}
		if e.number == 0 {
			unplaced++
		}
	}
	faults := 0
	for c := danger; c < unclear; c++ {
		faults += len(byClass[c])
	}
	s.Verdict = w.verdict(len(entries), faults, len(byClass[unclear]), unplaced)
	for c := danger; c <= unclear; c++ {
		if len(byClass[c]) == 0 {
			continue
		}
		g := Group{Title: w.l.Say(titles[c]), Items: byClass[c]}
		if c == danger && dangers["crossing-utility"] {
			g.Caution = w.l.Say("caution-crossing")
		}
		s.Groups = append(s.Groups, g)
	}
	if n := len(byClass[feature]); n > 0 {
		s.Noted = w.counted("summary-features", n)
	}
	s.Missing = w.missing()
	return s
}

var titles = [classes]string{
	danger: "summary-danger", atOnce: "page-at-once", repair: "page-repair", watch: "page-watch",
	open: "page-open", noAction: "summary-no-action", unclear: "summary-unclear",
}

// entries are the rows that are handed over: the placed ones in order of video time,
// then the rest in order of the log.
func (w *Wording) entries() []entry {
	var all []entry
	for i := range w.t.Observations {
		o := &w.t.Observations[i]
		if o.Entry != nil {
			all = append(all, entry{row: o.Entry, number: o.Number, label: w.Label(o), what: w.Name(o), where: w.Where(o)})
		}
	}
	for _, u := range w.t.Unplaced {
		if u.Entry != nil {
			all = append(all, entry{row: u.Entry, label: w.RowName(u.Entry), what: w.RowName(u.Entry), where: w.RowWhere(u.Entry)})
		}
	}
	return all
}

// RowName names a row that has no place on the recording: its kind and its row of the
// log, "roots (row 4 of the log)".
func (w *Wording) RowName(row *fieldlog.Row) string {
	place := w.l.Say("page-row", row.Number)
	if kind := w.Kind(row); kind != "" {
		return kind + " (" + place + ")"
	}
	return place
}

// RowWhere is the distance of a row as the log has it, corrected; "" without one.
func (w *Wording) RowWhere(row *fieldlog.Row) string {
	if row.Distance == nil {
		return ""
	}
	at := w.Length(w.corrected(row.Distance))
	if row.To != nil {
		return w.l.Say("between", at, w.Length(w.corrected(row.To)))
	}
	return at
}

// corrected is a length as the log has it, put right by the job sheet's zero and taped
// lengths.
func (w *Wording) corrected(written *distance.Length) distance.Metres {
	d := w.t.Sheet.Distance
	return distance.Correction{Zero: d.Zero, Taped: d.Taped}.Apply(written.Metres)
}

// verdict is how many faults were noted, and how far that can be relied on.
func (w *Wording) verdict(entries, faults, unclear, unplaced int) []string {
	var all []string
	switch {
	case entries == 0:
		return []string{w.l.Say("summary-empty-log"), w.l.Say("summary-not-judged")}
	case faults > 0:
		all = append(all, w.counted("summary-faults", faults))
	case unclear > 0:
		all = append(all, w.l.Say("summary-none-known"))
	default:
		all = append(all, w.l.Say("summary-none"))
	}
	if unclear > 0 {
		all = append(all, w.counted("summary-to-read", unclear))
	}
	if unplaced > 0 {
		all = append(all, w.counted("summary-unplaced", unplaced))
	}
	if faults+unclear > 0 {
		all = append(all, w.l.Say("summary-decides"))
	}
	return all
}

// counted is the sentence of a key for n things; key-one is that for a single one.
func (w *Wording) counted(key string, n int) string {
	if n == 1 {
		return w.l.Say(key + "-one")
	}
	return w.l.Say(key, n)
}

// missing are sentences on what may hide a fault.
func (w *Wording) missing() []string {
	var all []string
	unread := map[int]bool{}
	for _, warning := range w.t.Warnings {
		if warning.Code == codes.CellUnreadable {
			unread[warning.Row] = true
		}
	}
	if len(unread) > 0 {
		all = append(all, w.counted("summary-unread", len(unread)))
	}
	if far, number := w.beyond(); len(number) > 0 {
		all = append(all, w.l.Say("summary-beyond", strings.Join(number, ", "), w.Length(far)))
	}
	return all
}

// beyond names the observations that lie farther than the camera is known to have been,
// where a counter or a file of readings tells how far that was.
func (w *Wording) beyond() (farthest distance.Metres, numbers []string) {
	sources := w.t.Track.Sources()
	if len(sources) == 0 || slices.Contains(sources, distance.FromLog) {
		return 0, nil
	}
	for i := range w.t.Track.Readings() {
		farthest = max(farthest, w.t.Track.Place(i))
	}
	for _, e := range w.entries() {
		if e.row.Distance == nil {
			continue
		}
		far := w.corrected(e.row.Distance)
		if e.row.To != nil {
			far = max(far, w.corrected(e.row.To))
		}
		const counterLag = 0.5 // metres; a row is often written as the camera comes to rest beyond the last reading (common practice, no published source)
		if far > farthest+counterLag {
			numbers = append(numbers, e.label)
		}
	}
	return farthest, numbers
}

// Advice is what the technician advises for an observation; "" where the log says
// nothing of it. "No action" is said to be the technician's word where the kind is a
// defect.
func (w *Wording) Advice(row *fieldlog.Row) string {
	switch {
	case row == nil || row.Urgency == "":
		return ""
	case row.Urgency == fieldlog.UrgencyNone:
		return w.l.Say("summary-no-action-noted")
	}
	return w.l.Urgency(string(row.Urgency))
}

// Means explains a kind in general, to somebody who has never seen a drain; "" where
// there is nothing to explain.
func (w *Wording) Means(row *fieldlog.Row) string {
	if row == nil {
		return ""
	}
	return w.l.Means(row.What.Key)
}
