package fieldlog

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"pushcue/timeline/distance"
	"pushcue/timeline/fault"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// A builder turns a table into a log.
type builder struct {
	t     *table
	o     Options
	at    columns
	log   *Log
	fatal fault.List // what only a person can settle
	open  fault.List // lengths that have two readings

	units map[int]distance.Unit // of bare numbers, by column
	alike map[string]int        // faults already named, by what they have in common
}

// mostFaults keeps a file that isn't a log at all from filling the screen.
const mostFaults = 10_000

// interpret gives the table's columns their meaning and reads its rows.
func interpret(ctx context.Context, t *table, o Options) (*Log, error) {
	b := &builder{t: t, o: o, units: map[int]distance.Unit{}, alike: map[string]int{}, log: &Log{File: o.File, Above: t.above, Notes: t.notes, Faults: t.faults}}
	b.log.Dialect = Dialect{Charset: t.charset, Separator: t.separator, Sheet: t.sheet}
	b.skipNoise()
	b.at, b.fatal, t.notes = findColumns(t, o)
	b.log.Notes = append(b.log.Notes, t.notes...)
	b.placed()
	b.log.Header = b.width()
	b.log.Rows = make([]Row, len(t.records))
	if err := b.times(ctx); err != nil {
		return nil, err
	}
	if err := b.rows(ctx); err != nil {
		return nil, err
	}
	b.shifted()
	if len(b.fatal) > 0 {
		return nil, append(b.fatal, b.log.Faults...)
	}
	return b.log, nil
}

// skipNoise drops lines of dashes and headers that are repeated further down.
func (b *builder) skipNoise() {
	repeated := 0
	b.t.records = slices.DeleteFunc(b.t.records, func(r record) bool {
		if r.ruled() {
			return true
		}
		same := len(r.cells) > 1
		for i := range max(len(r.cells), len(b.t.header.cells)) {
			same = same && strings.TrimFunc(r.at(i).text, blank) == strings.TrimFunc(b.t.header.at(i).text, blank)
		}
		if same {
			repeated++
		}
		return same
	})
	if repeated > 0 {
		b.log.Notes = append(b.log.Notes, fmt.Sprintf("the header stands %d more times below and was passed over there", repeated))
	}
}

// placed refuses a log in which nothing tells where an observation lies.
func (b *builder) placed() {
	for _, name := range []string{"time", "elapsed", "video", "distance"} {
		if b.at.at(name) >= 0 {
			return
		}
	}
	if len(b.fatal) > 0 {
		return // the answer to those may be the column
	}
	f := finder{t: b.t}
	b.fatal = append(b.fatal, fault.Fault{File: b.o.File, Line: b.t.header.line, Text: "no column holds a time, a recording's time or a distance, so nothing can be placed",
		Hint: "name it under [log.columns] in job.toml, such as distance = one of " + f.headers()})
}

// width is the header as wide as the widest row, without empty columns at its end.
func (b *builder) width() []string {
	widest := 0
	for _, r := range append([]record{b.t.header}, b.t.records...) {
		for i := len(r.cells); i > widest; i-- {
			if !r.cells[i-1].blank() {
				widest = i
				break
			}
		}
	}
	header := make([]string, widest)
	for i := range header {
		header[i] = strings.TrimFunc(b.t.header.at(i).text, blank)
	}
	return header
}

// rows reads every row's cells but its times.
func (b *builder) rows(ctx context.Context) error {
	decimal := b.decimal()
	for i, r := range b.t.records {
		if i%1024 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		row := &b.log.Rows[i]
		row.Number, row.Line = i+1, r.line
		row.Cells = make([]string, len(b.log.Header))
		for c := range row.Cells {
			row.Cells[c] = r.at(c).kept()
		}
		row.Distance, row.To = b.stretch(i, decimal)
		row.Depth, _ = b.length(i, "depth", decimal)
		row.Video = b.video(i)
		row.Clock = b.clockSpan(i)
		row.What = b.kind(i)
		row.Urgency, row.Usual = b.urgency(i, row.What)
		row.Note, row.Size = b.text(i, "note"), b.text(i, "size")
		row.Spoken, row.Photo = b.text(i, "spoken"), b.text(i, "photo")
	}
	b.askDecimal()
	return nil
}

// kept is a cell as it goes on to the aligned log: a sheet's dates in a form with one
// reading.
func (c cell) kept() string {
	if c.iso != "" && c.serial >= 1 {
		return c.iso
	}
	return c.text
}

func (b *builder) text(i int, name string) string {
	return strings.TrimFunc(b.t.records[i].at(b.at.at(name)).text, blank)
}

// decimal is the log's decimal mark: the job's, else what its lengths tell.
func (b *builder) decimal() rune {
	mark := b.o.Decimal
	if mark == 0 {
		mark = decimalOf(func(yield func(cell) bool) {
			for _, name := range []string{"distance", "to", "depth"} {
				for _, r := range b.t.records {
					if c := r.at(b.at.at(name)); !c.blank() && !yield(c) {
						return
					}
				}
			}
		})
	}
	b.log.Dialect.Decimal = mark
	return mark
}

// stretch reads the distance and where a stretch from there ends.
func (b *builder) stretch(i int, decimal rune) (from, to *distance.Length) {
	from, to = b.length(i, "distance", decimal)
	if end, _ := b.length(i, "to", decimal); end != nil {
		to = end
	}
	return from, to
}

// length reads a cell that holds a length or the two ends of a stretch.
func (b *builder) length(i int, name string, decimal rune) (from, to *distance.Length) {
	column := b.at.at(name)
	c := b.t.records[i].at(column)
	if c.blank() {
		return nil, nil
	}
	a, z, err := lengths(c, distance.ParseOptions{Unit: b.unit(column), Decimal: decimal})
	if err != nil || c.iso != "" || bareSerial.MatchString(trim(c.text)) {
		if what, typed := spoilt(c, ".", b.o.Dates); what != "" {
			b.damaged(i, column, c, what, typed)
			return nil, nil
		}
	}
	if err != nil {
		b.unreadable(i, column, c, err)
		return nil, nil
	}
	for _, readings := range [][]distance.Length{a, z} {
		if len(readings) > 1 {
			f := b.faultAt(i, column, c.text)
			f.Text = fmt.Sprintf("this can be %s or %s", plain(readings[0]), plain(readings[1]))
			f.Hint = decimalHint(c.text, readings)
			b.open = append(b.open, f)
			return nil, nil
		}
	}
	from = &a[0]
	from.Text = c.text
	if len(z) > 0 {
		to = &z[0]
		to.Text = c.text
	}
	return from, to
}

// unit is the unit of a column's bare numbers.
func (b *builder) unit(column int) distance.Unit {
	u, known := b.units[column]
	if !known {
		u = b.o.unitOf(b.header(column))
		b.units[column] = u
	}
	return u
}

// plain is a length without a mark that could be taken for another.
func plain(l distance.Length) string {
	n := float64(l.Metres)
	if l.Unit == distance.Foot {
		n /= float64(distance.PerFoot)
	}
	return fmt.Sprintf("%s %s", plainNumber(n), l.Unit)
}

func decimalHint(text string, readings []distance.Length) string {
	mark, other := ",", "."
	if !strings.Contains(text, ",") {
		mark, other = ".", ","
	}
	return fmt.Sprintf(`under [log] in job.toml write decimal = "%s" for %s   or   decimal = "%s" for %s`,
		mark, plain(readings[0]), other, plain(readings[1]))
}

// askDecimal asks once for all lengths whose decimal mark nothing settles.
func (b *builder) askDecimal() {
	if len(b.open) == 0 {
		return
	}
	f := b.open[0]
	f.Text += andMore(len(b.open) - 1)
	b.fatal = append(b.fatal, f)
}

// video reads the recording's time.
func (b *builder) video(i int) *VideoTime {
	column := b.at.at("video")
	c := b.t.records[i].at(column)
	if c.blank() {
		return nil
	}
	at, half, label, err := timecode.ParseVideo(c.elapsed())
	if err != nil {
		b.unreadable(i, column, c, err)
		return nil
	}
	return &VideoTime{At: at, Timecode: label, Half: half, Text: c.text}
}

// clockSpan reads the clock position.
func (b *builder) clockSpan(i int) *ClockSpan {
	column := b.at.at("clock")
	c := b.t.records[i].at(column)
	if c.blank() {
		return nil
	}
	text := c.text
	if c.iso != "" && c.serial < 1 {
		text = c.iso // 03:00, typed as a time
	} else if c.number != "" {
		text = c.number
	}
	span, err := ParseClockSpan(text)
	if err == nil && (c.iso == "" || c.serial < 1) {
		span.Text = c.text
		return &span
	}
	if what, typed := spoilt(c, "-", b.o.Dates); what != "" {
		b.damaged(i, column, c, what, typed)
		return nil
	}
	b.unreadable(i, column, c, err)
	return nil
}

// kind reads what was seen: by the firm's list, else by the plain words. A code may
// stand in a column of its own beside the words.
func (b *builder) kind(i int) Kind {
	code, what := b.text(i, "code"), b.text(i, "what")
	if code == "" && what == "" {
		return Kind{}
	}
	for _, text := range []string{code, what} {
		if e, ok := b.o.Kinds.Find(text); ok {
			k := Kind{Key: e.Key, Code: e.Code, Text: e.Words}
			if code != "" && what != "" {
				k.Text = what
			}
			return k
		}
	}
	text := what
	if text == "" {
		text = code
	}
	k := Kind{Text: text}
	if what != "" {
		k.Code = code
	}
	k.Key, _ = words.FindKind(text)
	if k.Key == "" {
		b.unlisted(i, text)
	}
	return k
}

func (b *builder) unlisted(i int, text string) {
	column := b.at.at("what")
	if column < 0 || b.t.records[i].at(column).blank() {
		column = b.at.at("code")
	}
	if at, known := b.alike[text]; known { // one fault for all rows of that kind
		f := &b.log.Unlisted[at]
		f.Text = strings.TrimSuffix(f.Text, "; more rows have it") + "; more rows have it"
		return
	}
	b.alike[text] = len(b.log.Unlisted)
	f := b.faultAt(i, column, text)
	f.Text = "no list knows this kind; it stays as written"
	f.Hint = "add it to the firm's own list, and name that under [log] in job.toml: kinds = \"kinds.csv\""
	if b.o.Kinds != nil {
		f.Hint = fmt.Sprintf("add it to %s", b.o.Kinds.File)
	}
	if near := nearestKind(text, b.o.Kinds); near != "" {
		f.Hint = fmt.Sprintf("did you mean %q? otherwise %s", near, f.Hint)
	}
	b.log.Unlisted = append(b.log.Unlisted, f)
}

// urgency reads how soon something should be done; where the log doesn't say, the
// firm's list tells what is usual.
func (b *builder) urgency(i int, what Kind) (u Urgency, usual bool) {
	column := b.at.at("urgency")
	c := b.t.records[i].at(column)
	if !c.blank() {
		word, ok := words.FindUrgency(c.text)
		if !ok {
			b.unreadable(i, column, c, errNoUrgency)
		}
		return Urgency(word), false
	}
	if e, ok := b.o.Kinds.Find(what.Code); ok && e.Urgency != "" {
		return e.Urgency, true
	}
	if e, ok := b.o.Kinds.Find(what.Text); ok && what.Code == "" && e.Urgency != "" {
		return e.Urgency, true
	}
	return "", false
}

var errNoUrgency = errors.New("this isn't an urgency: none, watch, repair or at once")
