package fieldlog

import (
	"context"
	"slices"
	"strings"

	"pushcue/timeline/distance"
	"pushcue/timeline/fault"
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
	b.log.Meaning = b.at
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
	b.slips()
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
		b.log.Notes = append(b.log.Notes, words.Tell("the header stands %d more times below and was passed over there", repeated))
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
	b.fatal = append(b.fatal, fault.Fault{File: b.o.File, Line: b.t.header.line, Text: words.Tell("no column holds a time, a recording's time or a distance, so nothing can be placed"),
		Hint: words.Tell("name it under [log.columns] in job.toml, such as distance = one of %s", f.headers())})
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
