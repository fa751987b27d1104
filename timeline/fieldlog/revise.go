package fieldlog

import (
	"slices"
	"strings"
	"time"

	"pushcue/timeline/distance"
	"pushcue/timeline/fault"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// Columns are the columns of a log that is made from the page, in order.
func Columns() []string {
	return []string{"video", "distance", "to", "what", "clock", "urgency", "note", "size", "depth"}
}

// New is an empty log for a push that has none, with these columns; header gives
// their words.
func New(columns []string, header func(column string) string) *Log {
	l := &Log{Meaning: map[string]int{}, Dialect: Dialect{Charset: "utf-8"}}
	for i, name := range columns {
		l.Header = append(l.Header, header(name))
		l.Meaning[name] = i
	}
	return l
}

// Clone is the log with rows and faults of its own, so that it can be revised. A nil
// log's is nil.
func (l *Log) Clone() *Log {
	if l == nil {
		return nil
	}
	c := *l
	c.Rows, c.Faults, c.Unlisted = slices.Clone(l.Rows), slices.Clone(l.Faults), slices.Clone(l.Unlisted)
	if c.base == nil {
		c.base = l
	}
	return &c
}

// Person notes that a person gave the row's value in that column.
func (r *Row) Person(column string) {
	if i, there := slices.BinarySearch(r.Corrected, column); !there {
		r.Corrected = slices.Insert(slices.Clone(r.Corrected), i, column)
	}
}

// IsFromPerson tells whether a person gave the value in that column.
func (r *Row) IsFromPerson(column string) bool { return slices.Contains(r.Corrected, column) }

// Revise reads text, as a person typed it, as the row's value in that column; empty
// text empties it. o is what the log was read with. The error is a fault.List or says
// in one clause what is wrong; the row then stays as it was.
func (l *Log) Revise(row *Row, column, text string, o Options) error {
	text = strings.TrimFunc(text, blank)
	err := l.revise(row, column, text, o)
	if err == nil {
		row.Person(column)
	}
	return err
}

func (l *Log) revise(row *Row, column, text string, o Options) error {
	switch column {
	case "distance":
		from, to, err := l.typedLengths(text, o)
		if err != nil {
			return err
		}
		row.Distance = from
		if to != nil {
			row.To = to
			row.Person("to")
		}
	case "to", "depth":
		at, beyond, err := l.typedLengths(text, o)
		if err == nil && beyond != nil {
			err = words.Errorf("one length is wanted here")
		}
		if err != nil {
			return err
		}
		if column == "to" {
			row.To = at
		} else {
			row.Depth = at
		}
	case "what":
		row.What, _ = kindOf("", text, o.Kinds)
		if row.Urgency == "" || row.Usual {
			row.Urgency, row.Usual = usualUrgency(row.What, o.Kinds)
		}
	case "clock":
		if text == "" {
			row.Clock = nil
			break
		}
		span, err := ParseClockSpan(text)
		if err != nil {
			return err
		}
		row.Clock = &span
	case "urgency":
		word, known := words.FindUrgency(text)
		if text != "" && !known {
			return errNoUrgency
		}
		row.Urgency, row.Usual = Urgency(word), false
	case "note":
		row.Note = text
	case "size":
		row.Size = text
	case "time":
		return l.reviseTime(row, text, o)
	default:
		return words.Errorf("a row has no such column")
	}
	return nil
}

// TypedLengths reads text as Revise reads a distance: a length, or the two ends of a
// stretch; nil for empty text. l may be nil: a push without a log.
func (l *Log) TypedLengths(text string, o Options) (from, to *distance.Length, err error) {
	return l.typedLengths(strings.TrimFunc(text, blank), o)
}

// TypedUnit is the unit of a typed length that names none: the log's own, else the job's.
// l may be nil.
func (l *Log) TypedUnit(o Options) distance.Unit {
	if l != nil {
		if i, there := l.Meaning["distance"]; there && i < len(l.Header) {
			unit, _ := o.unitOf(l.Header[i])
			return unit
		}
	}
	return o.Unit
}

// typedLengths reads a length or the two ends of a stretch; nil for none.
func (l *Log) typedLengths(text string, o Options) (from, to *distance.Length, err error) {
	if text == "" {
		return nil, nil, nil
	}
	mark := o.Decimal
	if mark == 0 && l != nil {
		mark = l.Dialect.Decimal
	}
	a, z, err := lengths(cell{text: text}, distance.ParseOptions{Unit: l.TypedUnit(o), Decimal: mark})
	if err != nil {
		return nil, nil, err
	}
	for _, readings := range [][]distance.Length{a, z} {
		if len(readings) > 1 {
			return nil, nil, fault.Of(fault.Fault{Text: words.Tell("this can be %s or %s", plain(readings[0]), plain(readings[1])), Hint: words.Tell("write it as one of them")})
		}
	}
	if len(z) > 0 {
		z[0].Text = text
		to = &z[0]
	}
	a[0].Text = text
	return &a[0], to, nil
}

// reviseTime reads a time on the log's clock. Without a date it is the day's that
// brings it nearest to the rows beside it.
func (l *Log) reviseTime(row *Row, text string, o Options) error {
	if text == "" {
		row.Time = nil
		return nil
	}
	if l.Elapsed {
		w, err := timecode.ParseElapsed(text)
		if err != nil {
			return err
		}
		row.Time = &Moment{Log: timecode.Log(w.Middle()), Half: w.Resolution / 2, Text: text}
		return nil
	}
	order := timecode.DateOrder(l.Dialect.Dates)
	readings, err := timecode.ParseClock(text, order)
	if err != nil {
		return err
	}
	readings = slices.DeleteFunc(readings, func(w timecode.Written) bool { return w.Form == timecode.Elapsed })
	if len(readings) != 1 {
		return words.Errorf("this isn't a time of day with one meaning: write it like 10:07:31")
	}
	at, found := l.nearest(row, readings[0], o)
	if !found {
		return words.Errorf("there was no such time that day")
	}
	half := readings[0].Resolution / 2
	row.Time = &Moment{Log: timecode.LogAt(at).Add(half), Half: half, Text: text}
	return nil
}

// nearest is the instant of a time of day that lies nearest to the rows beside it, or
// that of the job's day.
func (l *Log) nearest(row *Row, w timecode.Written, o Options) (at time.Time, found bool) {
	zone := o.Zone
	if zone == nil || l.Undated {
		zone = time.UTC
	}
	day := o.Date
	if day.IsZero() {
		day = timecode.Date{Year: 1970, Month: time.January, Day: 1}
	}
	near, beside := l.beside(row)
	if beside {
		t := near.Time(zone)
		day = timecode.Date{Year: t.Year(), Month: t.Month(), Day: t.Day()}
	}
	for _, off := range []int{0, -1, 1} {
		if off != 0 && !beside {
			break
		}
		for _, t := range w.Instants(later(day, off), zone) {
			if !found || t.Sub(near.Time(zone)).Abs() < at.Sub(near.Time(zone)).Abs() {
				at, found = t, true
			}
			if !beside {
				return at, true
			}
		}
	}
	return at, found
}

// beside is the time of the nearest other row that has one.
func (l *Log) beside(row *Row) (timecode.Log, bool) {
	for step := 1; step < len(l.Rows); step++ {
		for _, i := range []int{row.Number - 1 - step, row.Number - 1 + step} {
			if i >= 0 && i < len(l.Rows) && l.Rows[i].Time != nil {
				return l.Rows[i].Time.Log, true
			}
		}
	}
	return 0, false
}

// Revert gives a row the value back that the log itself has in that column.
func (l *Log) Revert(row *Row, column string) {
	was := Row{}
	if l.base != nil && row.Added == "" && row.Number <= len(l.base.Rows) {
		was = l.base.Rows[row.Number-1]
	}
	switch column {
	case "distance":
		row.Distance = was.Distance
	case "to":
		row.To = was.To
	case "depth":
		row.Depth = was.Depth
	case "what":
		row.What = was.What
	case "clock":
		row.Clock = was.Clock
	case "urgency":
		row.Urgency, row.Usual = was.Urgency, was.Usual
	case "note":
		row.Note = was.Note
	case "size":
		row.Size = was.Size
	case "time":
		row.Time = was.Time
	}
	row.Corrected = slices.DeleteFunc(slices.Clone(row.Corrected), func(c string) bool { return c == column })
}

// Resolved drops the faults of cells that a person has given the value of.
func (l *Log) Resolved() {
	given := func(f fault.Fault) bool {
		if f.Row < 1 || f.Row > len(l.Rows) {
			return false
		}
		for _, column := range l.Rows[f.Row-1].Corrected {
			name := column
			if _, there := l.Meaning[name]; !there && name == "time" {
				name = "elapsed"
			}
			if i, there := l.Meaning[name]; there && i < len(l.Header) && l.Header[i] == f.Column {
				return true
			}
		}
		return false
	}
	l.Faults = slices.DeleteFunc(l.Faults, given)
	l.Unlisted = slices.DeleteFunc(l.Unlisted, func(f fault.Fault) bool {
		return given(f) && !f.More
	})
}
