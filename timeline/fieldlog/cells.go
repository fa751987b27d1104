package fieldlog

import (
	"strings"

	"pushcue/timeline/distance"
	"pushcue/timeline/fault"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// decimal is the log's decimal mark: the job's, else what its lengths tell.
func (b *builder) decimal() rune {
	mark := b.o.Decimal
	if mark == 0 || b.o.beside {
		told := decimalOf(func(yield func(cell) bool) {
			for _, name := range []string{"distance", "to", "depth"} {
				for _, r := range b.t.records {
					if c := r.at(b.at.at(name)); !c.blank() && !yield(c) {
						return
					}
				}
			}
		})
		if told != 0 {
			mark = told
		}
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
		if what, typed := spoilt(c, ".", b.o.Dates); !what.Empty() {
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
			f.Text = words.Tell("this can be %s or %s", plain(readings[0]), plain(readings[1]))
			f.Hint, f.Choices = decimalHint(c.text, readings)
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
		var unknown string
		if u, unknown = b.o.unitOf(b.header(column)); unknown != "" {
			b.askUnit(column, unknown)
		}
		b.units[column] = u
	}
	return u
}

// askUnit asks for the unit of a column whose header names one that isn't known, unless
// every value has a unit of its own.
func (b *builder) askUnit(column int, unknown string) {
	for _, r := range b.t.records {
		c := r.at(column)
		if c.blank() || c.unit != "" {
			continue
		}
		metres, err := distance.Parse(trim(c.text), distance.ParseOptions{Decimal: '.'})
		feet, err2 := distance.Parse(trim(c.text), distance.ParseOptions{Decimal: '.', Unit: distance.Foot})
		if err == nil && err2 == nil && metres[0].Metres != feet[0].Metres { // a bare number
			b.fatal = append(b.fatal, fault.Fault{File: b.o.File, Line: b.t.header.line, Column: b.header(column),
				Text: words.Tell("%s isn't a unit that lengths are read in", words.Quoted(unknown)),
				Hint: words.Tell("write the unit in the log's header or behind each number: m, cm, mm, ft or in")})
			return
		}
	}
}

// plain is a length without a mark that could be taken for another.
func plain(l distance.Length) words.Sentence {
	n := float64(l.Metres)
	if l.Unit == distance.Foot {
		n /= float64(distance.PerFoot)
	}
	return words.Plain("%v %s", tidy(n), string(l.Unit))
}

func decimalHint(text string, readings []distance.Length) (words.Sentence, []fault.Choice) {
	mark, other := ",", "."
	if !strings.Contains(text, ",") {
		mark, other = ".", ","
	}
	a, b := plain(readings[0]), plain(readings[1])
	return words.Tell(`under [log] in job.toml write decimal = "%s" for %s   or   decimal = "%s" for %s`, mark, a, other, b),
		[]fault.Choice{{Label: a, Key: "log.decimal", Value: mark}, {Label: b, Key: "log.decimal", Value: other}}
}

// askDecimal asks once for all lengths whose decimal mark nothing settles.
func (b *builder) askDecimal() {
	if len(b.open) == 0 {
		return
	}
	f := b.open[0]
	f.Text = andMore(f.Text, len(b.open)-1)
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
	if what, typed := spoilt(c, "-", b.o.Dates); !what.Empty() {
		b.damaged(i, column, c, what, typed)
		return nil
	}
	b.unreadable(i, column, c, err)
	return nil
}
