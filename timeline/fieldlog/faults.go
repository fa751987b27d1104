package fieldlog

import (
	"fmt"
	"strings"

	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

func (b *builder) header(column int) string {
	return strings.TrimFunc(b.t.header.at(column).text, blank)
}

// field is our name of a column; "" for one that means nothing to us.
func (b *builder) field(column int) string {
	for name, at := range b.at {
		if at == column {
			return name
		}
	}
	return ""
}

// faultAt names a cell.
func (b *builder) faultAt(row, column int, value string) fault.Fault {
	name := b.header(column)
	if name == "" && column >= 0 {
		name = fmt.Sprintf("#%d", column+1)
	}
	return fault.Fault{Field: b.field(column), File: b.o.File, Row: row + 1, Line: b.t.records[row].line, Column: name, Value: strings.TrimFunc(value, blank)}
}

// fault keeps a fault that doesn't stop the reading.
func (b *builder) fault(f fault.Fault) {
	switch n := len(b.log.Faults); {
	case n < mostFaults:
		b.log.Faults = append(b.log.Faults, f)
	case n == mostFaults:
		b.log.Faults = append(b.log.Faults, fault.Fault{File: b.o.File, Text: words.Tell("there are more faults like these"), Hint: words.Tell("is it a log?")})
	}
}

// damaged is the fault of a cell that a spreadsheet has spoilt.
func (b *builder) damaged(row, column int, c cell, what words.Sentence, typed []string) {
	f := b.faultAt(row, column, c.text)
	f.Text, f.Hint = what, words.Tell("set the column to text in the spreadsheet, type the cell again and save")
	if len(typed) > 0 {
		likely := either(typed)
		f.Text = words.Tell("%s: it was likely %s", what, likely)
		f.Hint = words.Tell("was it %s? %s", likely, f.Hint)
		for _, one := range typed {
			f.Choices = append(f.Choices, fault.Choice{Label: words.Plain("%s", one), Value: one})
		}
	}
	b.fault(f)
}

// unreadable is the fault of a cell that is left empty.
func (b *builder) unreadable(row, column int, c cell, err error) {
	text, hint := reason(err)
	if column == b.at.at("time") || column == b.at.at("elapsed") || column == b.at.at("video") {
		if typed := typedTime(trim(c.text)); typed != "" {
			b.damaged(row, column, c, words.Tell("a spreadsheet shows the time as a part of the day"), []string{typed})
			return
		}
		if what, typed := spoilt(c, ":", b.o.Dates); !what.Empty() && b.at.at("date") < 0 {
			b.damaged(row, column, c, what, typed)
			return
		}
	}
	f := b.faultAt(row, column, c.text)
	f.Text = words.Tell("%s; the cell was left empty", text)
	f.Hint = hint
	if hint.Empty() {
		f.Hint = words.Tell("correct the cell, or empty it")
	}
	b.fault(f)
}

// shifted names rows that have more cells than the header, and cells that hold whole
// rows: there, what stands in which column isn't sure.
func (b *builder) shifted() {
	columns := 0
	for i, c := range b.t.header.cells {
		if !c.blank() {
			columns = i + 1
		}
	}
	for i, r := range b.t.records {
		if surplus := len(r.cells) - len(b.t.header.cells); surplus > 0 && b.decimalShift(i, surplus) {
			continue
		}
		if n := lastFilled(r); n > columns {
			f := b.faultAt(i, columns, "")
			f.Column = ""
			f.Text = words.Tell("this row has %d cells, the header has %d: a cell may stand in the wrong column", n, columns)
			f.Hint = words.Tell("put quotation marks round text that holds %q", b.t.separator)
			b.fault(f)
		}
		for column, c := range r.cells {
			if b.swallowed(c.text, columns) {
				f := b.faultAt(i, column, c.text)
				f.Text = words.Tell("this cell holds whole lines of the log: a quotation mark stands too many before it")
				f.Hint = words.Tell("take the mark away, or close it where the cell ends")
				b.fault(f)
			}
		}
	}
}

func lastFilled(r record) int {
	for n := len(r.cells); n > 0; n-- {
		if !r.cells[n-1].blank() {
			return n
		}
	}
	return 0
}

// decimalShift finds decimal commas in a log whose cells are parted by commas: 12,4
// becomes two cells, and all behind it stand one too far right. That can't be read.
func (b *builder) decimalShift(row, surplus int) bool {
	at := b.at.at("distance")
	r := b.t.records[row]
	if b.t.separator != ',' || at < 0 || !digits(r.at(at).text) || !digits(firstField(r.at(at+1).text)) {
		return false
	}
	f := b.faultAt(row, at, r.at(at).text+","+r.at(at+1).text)
	f.Text = words.Tell("this row has %d more cells than the header: %s,%s can be one length with a decimal comma, or two cells", surplus, strings.TrimSpace(r.at(at).text), strings.TrimSpace(r.at(at+1).text))
	f.Hint = words.Tell("put quotation marks round it, or save the log with semicolons between the cells")
	b.fatal = append(b.fatal, f)
	return true
}

func firstField(text string) string {
	if fields := strings.Fields(text); len(fields) > 0 {
		return fields[0]
	}
	return ""
}

func digits(text string) bool {
	text = strings.TrimSpace(text)
	return text != "" && strings.Trim(text, "0123456789") == ""
}

// swallowed tells a cell that a stray quotation mark made of several rows.
func (b *builder) swallowed(text string, columns int) bool {
	if columns < 3 || b.t.separator == 0 || !strings.ContainsAny(text, "\n\r") {
		return false
	}
	for line := range strings.FieldsFuncSeq(text, func(r rune) bool { return r == '\n' || r == '\r' }) {
		if strings.Count(line, string(b.t.separator)) == columns-1 {
			return true
		}
	}
	return false
}
