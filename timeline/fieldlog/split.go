package fieldlog

import (
	"context"
	"strings"

	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// separators are tried in this order; of several that do equally well the first is taken.
var separators = []byte{';', ',', '\t', '|'}

// split cuts a text into records at the separator that makes a header appear.
func split(ctx context.Context, text string, o Options, score scorer) (*table, error) {
	line := 1
	declared := byte(0)
	if rest, sep, found := declaration(text); found { // a spreadsheet's own first line
		text, declared, line = rest, sep, 2
	}
	sep := declared
	if sep == 0 {
		sep = detect(text, score)
	}
	s := splitter{text: text, sep: sep, line: line}
	t := &table{separator: rune(sep)}
	var records []record
	for {
		if len(records)%1024 == 0 && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		r, more := s.next()
		if !more {
			break
		}
		if r.blank() {
			continue
		}
		if err := tooLarge(o.File, r, len(records)); err != nil {
			return nil, err
		}
		records = append(records, r)
	}
	if s.stray > 0 {
		t.faults = append(t.faults, fault.Fault{File: o.File, Line: s.stray, Text: words.Tell("a quotation mark opens here and is never closed: it was taken as part of the text"),
			Hint: words.Tell("close it, or take it away")})
	}
	at, _ := headerAt(records, score)
	if at < 0 {
		return nil, noHeader(o.File, records)
	}
	t.from(records, at)
	return t, nil
}

func tooLarge(file string, r record, before int) error {
	for _, c := range r.cells {
		if len(c.text) > mostCell {
			return tooLong(file, r.line)
		}
	}
	switch {
	case before >= mostRows:
		return refuse(file, 0, words.Tell("the file has more than %d rows", mostRows), words.Tell("is it a log?"))
	case len(r.cells) > mostColumns:
		return refuse(file, r.line, words.Tell("the file has more than %d columns", mostColumns), words.Tell("is it a log?"))
	}
	return nil
}

// noHeader refuses a file in which no row is a header. Such a file may be anything that
// has been named as a log, somebody's passwords too: nothing of it is quoted.
func noHeader(file string, records []record) error {
	f := fault.Fault{File: file, Text: words.Tell("no row has the header words of a log"),
		Hint: words.Tell(`put a row above the data such as time;distance;what;clock;urgency;note, or name the log's own words under [log.columns] in job.toml: distance = "…"`)}
	if len(records) == 0 {
		f.Text = words.Tell("the file is empty: it has no header and no rows")
		f.Hint = words.Tell("for a push without findings a header alone is enough: time;distance;what")
	}
	return fault.Of(f)
}

// declaration takes off the line by which spreadsheets name the separator: sep=;
func declaration(text string) (rest string, sep byte, found bool) {
	first, rest, _ := strings.Cut(text, "\n")
	first = strings.Trim(strings.TrimSpace(first), `"`)
	if len(first) == 5 && strings.EqualFold(first[:4], "sep=") {
		return rest, first[4], true
	}
	return text, 0, false
}

// detect finds the separator: the one with which the header has the most words, then
// the one that makes the most cells there.
func detect(text string, score scorer) byte {
	sample := text
	if len(sample) > 64<<10 {
		sample = sample[:64<<10]
	}
	best, bestScore, bestCells := separators[0], 0, 0
	for _, sep := range separators {
		s := splitter{text: sample, sep: sep, line: 1}
		var records []record
		for len(records) < deepest {
			r, more := s.next()
			if !more {
				break
			}
			if !r.blank() {
				records = append(records, r)
			}
		}
		at, found := headerAt(records, score)
		if at < 0 {
			continue
		}
		if cells := len(records[at].cells); found > bestScore || found == bestScore && cells > bestCells {
			best, bestScore, bestCells = sep, found, cells
		}
	}
	return best
}

// A splitter cuts text into records the way RFC 4180 says, and goes on where people
// and programs don't keep to it: a quotation mark inside a cell is part of it
// (40'6"), one that is never closed too, and lines end with LF, CRLF or CR.
type splitter struct {
	text  string
	sep   byte
	pos   int
	line  int
	stray int // line of the first quotation mark that is never closed; 0 for none
}

// next is the next record, blank or not; false at the end.
func (s *splitter) next() (record, bool) {
	if s.pos >= len(s.text) {
		return record{}, false
	}
	r := record{line: s.line}
	for {
		r.cells = append(r.cells, cell{text: s.cell()})
		if s.pos >= len(s.text) {
			return r, true
		}
		if s.text[s.pos] == s.sep {
			if s.pos++; s.pos == len(s.text) {
				r.cells = append(r.cells, cell{})
				return r, true
			}
			continue
		}
		s.lineEnd()
		return r, true
	}
}

func (s *splitter) lineEnd() {
	if strings.HasPrefix(s.text[s.pos:], "\r\n") {
		s.pos++
	}
	s.pos++
	s.line++
}

// cell reads up to the separator, line end or end of text that ends a cell.
func (s *splitter) cell() string {
	start := s.pos
	for s.pos < len(s.text) && s.text[s.pos] == ' ' && s.sep != ' ' {
		s.pos++
	}
	if s.pos < len(s.text) && s.text[s.pos] == '"' && s.stray == 0 {
		if text, closed := s.quoted(); closed {
			return text
		}
		s.stray = s.line
	}
	s.pos = start
	end := strings.IndexFunc(s.text[start:], func(r rune) bool { return r == rune(s.sep) || r == '\n' || r == '\r' })
	if end < 0 {
		end = len(s.text) - start
	}
	s.pos = start + end
	return s.text[start:s.pos]
}

// quoted reads a quoted cell. A mark closes it where a separator or the line's end
// comes next; two marks stand for one.
func (s *splitter) quoted() (text string, closed bool) {
	body := s.pos + 1
	for i := body; i < len(s.text); i++ {
		if s.text[i] != '"' {
			continue
		}
		if i+1 < len(s.text) && s.text[i+1] == '"' {
			i++
			continue
		}
		end := i + 1
		for end < len(s.text) && s.text[end] == ' ' {
			end++
		}
		if end < len(s.text) && s.text[end] != s.sep && s.text[end] != '\n' && s.text[end] != '\r' {
			continue
		}
		text = s.text[body:i]
		s.pos = end
		s.line += lineEnds(text)
		if strings.Contains(text, `""`) {
			text = strings.ReplaceAll(text, `""`, `"`)
		}
		return text, true
	}
	return "", false
}

func lineEnds(text string) int {
	return strings.Count(text, "\n") + strings.Count(text, "\r") - strings.Count(text, "\r\n")
}
