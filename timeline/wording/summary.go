package wording

import (
	"slices"
	"strings"
	"time"

	"pushcue/timeline/codes"
	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
)

// A Summary is what a reader is told first: what the technician noted and advises, and
// what stands in the way of believing it. It never says that a line is sound: only what
// was noted, by whom, on which length.
type Summary struct {
	Verdict []string // sentences: in how many entries faults were noted, or why that can't be told
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

	from, to *distance.Metres // nil where unknown
}

// Summary sums the push up.
func (w *Wording) Summary() Summary {
	var s Summary
	if w.t.Log == nil && len(w.t.Observations) == 0 {
		s.Verdict = []string{w.l.Say("summary-no-log"), w.l.Say("summary-not-judged")}
		return s
	}
	entries := w.entries()
	unread := w.unread("urgency")
	byClass := make([][]Item, classes)
	dangers := map[string]int{}
	unplaced := 0
	for _, e := range entries {
		c := classOf(e.row)
		if c > noAction && unread[e.row.Number] {
			c = unclear // it may have been urgent
		}
		byClass[c] = append(byClass[c], Item{Number: e.number, Row: e.row.Number, What: e.what, Where: e.where})
		if c == danger {
			dangers[e.row.What.Key]++
		}
		if e.number == 0 {
			unplaced++
		}
	}
	s.Verdict = w.verdict(byClass, dangers["crossing-utility"], unplaced)
	for c := danger; c <= unclear; c++ {
		if len(byClass[c]) == 0 {
			continue
		}
		g := Group{Title: w.l.Say(titles[c]), Items: byClass[c]}
		if c == danger && dangers["crossing-utility"] > 0 {
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
	open: "page-open", noAction: "summary-no-action", halted: "summary-halted-title", unclear: "summary-unclear",
}

// entries are the rows that are handed over: the placed ones in order of video time,
// then the rest in order of the log.
func (w *Wording) entries() []entry {
	var all []entry
	for i := range w.t.Observations {
		o := &w.t.Observations[i]
		if o.Entry != nil {
			all = append(all, entry{row: o.Entry, number: o.Number, label: w.Label(o), what: w.Name(o), where: w.Where(o), from: o.Distance, to: o.DistanceTo})
		}
	}
	for _, u := range w.t.Unplaced {
		if u.Entry != nil {
			all = append(all, entry{row: u.Entry, label: w.RowName(u.Entry), what: w.RowName(u.Entry), where: w.RowWhere(u.Entry),
				from: w.corrected(u.Entry.Distance), to: w.corrected(u.Entry.To)})
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
	at := w.Length(*w.corrected(row.Distance))
	if row.To != nil {
		return w.l.Say("between", at, w.Length(*w.corrected(row.To)))
	}
	return at
}

// corrected is a length as the log has it, put right by the job sheet's zero and taped
// lengths; nil where there is none.
func (w *Wording) corrected(written *distance.Length) *distance.Metres {
	if written == nil {
		return nil
	}
	d := w.t.Sheet.Distance
	at := distance.Correction{Zero: d.Zero, Taped: d.Taped}.Apply(written.Metres)
	return &at
}

// verdict is in how many entries faults were noted, and how far that can be relied on.
// Entries are counted, not faults: two of them may tell of the same one.
func (w *Wording) verdict(byClass [][]Item, crossings, unplaced int) []string {
	faults, entries := -crossings, 0
	for c, items := range byClass {
		entries += len(items)
		if class(c) < halted {
			faults += len(items)
		}
	}
	unsure := len(byClass[halted]) + len(byClass[unclear])
	var all []string
	add := func(when bool, key string) {
		if when {
			all = append(all, w.l.Say(key))
		}
	}
	if entries == 0 {
		add(len(w.t.Aside) > 0, "summary-all-aside")
		add(len(w.t.Aside) == 0, "summary-empty-log")
		return append(all, w.l.Say("summary-not-judged"))
	}
	add(crossings > 0, "summary-crossing")
	if faults > 0 {
		all = append(all, w.counted("summary-faults", faults))
	}
	add(faults+crossings+len(byClass[unclear]) == 0, "summary-none")
	add(faults == 0 && len(byClass[halted]) > 0, "summary-halted")
	if n := len(byClass[unclear]); n > 0 {
		all = append(all, w.counted("summary-to-read", n))
	}
	if unplaced > 0 {
		all = append(all, w.counted("summary-unplaced", unplaced))
	}
	add(faults+crossings+unsure > 0, "summary-decides")
	return all
}

// counted is the sentence of a key for n things; key-one is that for a single one.
func (w *Wording) counted(key string, n int) string {
	if n == 1 {
		return w.l.Say(key + "-one")
	}
	return w.l.Say(key, n)
}

// missing are sentences on what may hide a fault, or put it elsewhere.
func (w *Wording) missing() []string {
	var all []string
	if unread := w.unread(""); len(unread) > 0 {
		var labels []string
		for _, e := range w.entries() {
			if unread[e.row.Number] {
				labels = append(labels, e.label)
			}
		}
		if len(labels) > 0 {
			all = append(all, w.l.Say("summary-unread", w.listed(labels)))
		}
	}
	if n := len(w.t.Aside); n > 0 && n < len(w.t.Log.Rows) {
		all = append(all, w.counted("summary-aside", n))
	}
	if written, pushed, ok := w.otherDay(); ok {
		all = append(all, w.l.Say("summary-other-day", written, pushed))
	}
	if far, number := w.beyond(); len(number) > 0 {
		all = append(all, w.l.Say("summary-beyond", w.Length(far), w.listed(number)))
	}
	if w.otherZero() {
		all = append(all, w.l.Say("summary-other-zero"))
	}
	return all
}

// listed joins the parts of a list that may hold commas themselves.
func (w *Wording) listed(parts []string) string {
	return strings.Join(parts, w.l.Say("list-separator"))
}

// unread are the rows of the log with a cell in that column that couldn't be read; "" is
// any column.
func (w *Wording) unread(column string) map[int]bool {
	rows := map[int]bool{}
	if w.t.Log == nil {
		return rows
	}
	header := column // faults name a column by the log's own word
	if i, there := w.t.Log.Meaning[column]; there && i < len(w.t.Log.Header) {
		header = w.t.Log.Header[i]
	}
	for _, warning := range w.t.Warnings {
		f := warning.Out.Fault
		if warning.Code == codes.CellUnreadable && f != nil && (column == "" || f.Column == header) {
			rows[warning.Row] = true
		}
	}
	return rows
}

// otherZero reports whether the counter was set anew on the way and nobody said where the
// camera was then, so that distances noted afterwards may count from another place.
func (w *Wording) otherZero() bool {
	for _, warning := range w.t.Warnings {
		if warning.Code == codes.CounterReset {
			return w.t.Track == nil || !slices.ContainsFunc(w.t.Track.Resets(), func(r distance.Reset) bool { return r.Place != nil })
		}
	}
	return false
}

// otherDay is the day of the log's first time and the job's, where all times of the log
// are more than a day from the job's date: one after midnight belongs to the evening before.
func (w *Wording) otherDay() (written, pushed string, other bool) {
	date, log := w.t.Sheet.Job.Date, w.t.Log
	if date.Year == 0 || log == nil || log.Undated || log.Elapsed {
		return "", "", false
	}
	zone := w.t.Sheet.Job.Zone
	if zone == nil {
		zone = time.UTC
	}
	noon := time.Date(date.Year, date.Month, date.Day, 12, 0, 0, 0, zone)
	for i := range log.Rows {
		m := log.Rows[i].Time
		if m == nil {
			continue
		}
		at := m.Log.Time(zone)
		if at.Sub(noon).Abs() < 36*time.Hour {
			return "", "", false
		}
		if !other {
			written, other = w.l.Date(at), true
		}
	}
	return written, w.l.Date(noon), other
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
		for _, end := range []*distance.Metres{e.from, e.to} {
			if end != nil && *end > farthest+counterLag {
				numbers = append(numbers, e.label)
				break
			}
		}
	}
	return farthest, numbers
}

// counterLag is how far a row may lie beyond the last reading of the counter: it is often
// written as the camera comes to rest (common practice, no published source).
const counterLag distance.Metres = 0.5

// Advice is what the technician advises for an observation; "" where the log says
// nothing of it. "None" is how urgent a defect was noted to be, which is less than advice
// to do nothing; beside a danger, or what is no defect, it isn't told.
func (w *Wording) Advice(row *fieldlog.Row) string {
	switch {
	case row == nil || row.Urgency == "":
		return ""
	case row.Urgency == fieldlog.UrgencyNone:
		if classOf(row) != noAction {
			return ""
		}
		return w.l.Say("advice-none")
	case row.Urgency == fieldlog.UrgencyAtOnce:
		return w.l.Say("advice-at-once")
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
