package fieldlog

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"

	"pushcue/timeline/distance"
	"pushcue/timeline/fault"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// columns tells which column holds what: our name for it -> its place, from 0.
type columns map[string]int

// at is the place of a column, -1 where the log has none.
func (c columns) at(name string) int {
	if i, ok := c[name]; ok {
		return i
	}
	return -1
}

// A finder gives the columns of a table their meanings.
type finder struct {
	t      *table
	o      Options
	found  columns
	faults fault.List // what stops the reading
	notes  []words.Sentence
}

// findColumns gives each column its meaning: those that the job names, then those
// whose header word has one meaning, then those that the others leave only one.
func findColumns(t *table, o Options) (columns, fault.List, []words.Sentence) {
	f := finder{t: t, o: o, found: columns{}}
	open := f.byJob()
	claims := map[string][]int{}
	var several []int
	for _, i := range open {
		switch m := f.meanings(i); len(m) {
		case 0:
		case 1:
			claims[m[0]] = append(claims[m[0]], i)
		default:
			several = append(several, i)
		}
	}
	for _, name := range words.Columns() {
		if _, settled := f.found[name]; !settled && len(claims[name]) > 0 {
			f.claim(name, claims[name])
		}
	}
	for _, i := range several {
		f.settle(i)
	}
	f.dates()
	return f.found, f.faults, f.notes
}

func (f *finder) header(i int) string { return strings.TrimFunc(f.t.header.at(i).text, blank) }

// meanings is what a column's header can mean, without what the job has settled.
func (f *finder) meanings(i int) []string {
	if len(f.header(i)) > 200 {
		return nil
	}
	return slices.DeleteFunc(words.FindColumn(f.header(i)), func(m string) bool {
		_, settled := f.found[m]
		return settled
	})
}

// byJob takes the columns that the job names, and returns the places left.
func (f *finder) byJob() (open []int) {
	taken := map[int]bool{}
	for _, name := range slices.Sorted(maps.Keys(f.o.Columns)) {
		word := f.o.Columns[name]
		var at []int
		for i := range f.t.header.cells {
			if strings.TrimSpace(word) == f.header(i) {
				at = append(at, i)
			}
		}
		for i := range f.t.header.cells {
			if len(at) == 0 && words.Same(word, f.header(i)) {
				at = append(at, i)
			}
		}
		switch {
		case len(at) == 0 && f.o.beside:
		case len(at) == 0:
			f.faults = append(f.faults, fault.Fault{File: f.o.File, Line: f.t.header.line, Column: word,
				Text: words.Tell("job.toml says that column %s holds %s, but no column is headed so", words.Quoted(word), meaning(name)),
				Hint: words.Tell("under [log.columns] write %s = one of the log's own header words: %s", name, f.headers())})
		default:
			at = f.filled(at)
			if len(at) > 1 {
				f.several(name, at)
			}
			f.found[name] = at[0]
			taken[at[0]] = true
		}
	}
	for i := range f.t.header.cells {
		if !taken[i] {
			open = append(open, i)
		}
	}
	return open
}

func (f *finder) headers() words.Sentence {
	var hs []words.Sentence
	for i := range f.t.header.cells {
		if h := f.header(i); h != "" && len(hs) < 30 {
			hs = append(hs, words.Plain("%q", h))
		}
	}
	return words.Join(hs, words.Comma)
}

// claim gives a meaning to the one column that has it. Columns that are empty in
// every row don't count against one that isn't.
func (f *finder) claim(name string, at []int) {
	at = f.filled(at)
	f.found[name] = at[0]
	if len(at) > 1 && name != "slope" {
		f.several(name, at)
	}
}

// several is the fault of columns that mean the same.
func (f *finder) several(name string, at []int) {
	var lines []string
	var named []words.Sentence
	var choices []fault.Choice
	for _, i := range at {
		line := fmt.Sprintf("%s = %q", name, f.header(i))
		if !slices.Contains(lines, line) {
			lines = append(lines, line)
			choices = append(choices, fault.Choice{Label: words.Plain("%s", f.header(i)), Key: "log.columns." + name, Value: f.header(i)})
		}
		named = append(named, words.Tell("%s (column %d)", words.Quoted(f.header(i)), i+1))
	}
	hint := words.Tell("under [log.columns] in job.toml write the one that counts: %s", orElse(lines))
	if len(lines) == 1 {
		hint = words.Tell("their headers are the same, so job.toml can't tell them apart: rename one of them in the log")
		choices = nil
	}
	f.faults = append(f.faults, fault.Fault{Choices: choices, File: f.o.File, Line: f.t.header.line, Column: f.header(at[0]),
		Text: words.Tell("%d columns can hold %s: %s", len(at), meaning(name), words.Join(named, words.Comma)), Hint: hint})
}

// orElse parts lines for the job sheet of which one is to be chosen.
func orElse(lines []string) words.Sentence {
	parts := make([]words.Sentence, len(lines))
	for i, line := range lines {
		parts[i] = words.Plain("%s", line)
	}
	return words.Join(parts, words.Tell("   or   "))
}

// filled drops columns without any value, unless that leaves none.
func (f *finder) filled(at []int) []int {
	if len(at) < 2 {
		return at
	}
	var kept []int
	for _, i := range at {
		if slices.ContainsFunc(f.t.records, func(r record) bool { return !r.at(i).blank() }) {
			kept = append(kept, i)
		}
	}
	if len(kept) == 0 {
		return at[:1]
	}
	return kept
}

// settle gives a meaning to a column whose header can mean several: the only one
// that no other column has and that its cells can be read as. What was seen and a
// note are both text, so the first that is free will do; otherwise a person is asked.
func (f *finder) settle(i int) {
	var free []string
	for _, m := range f.meanings(i) {
		if _, taken := f.found[m]; !taken && f.fits(i, m) {
			free = append(free, m)
		}
	}
	switch {
	case len(free) == 0:
	case len(free) == 1:
		if free[0] != "slope" {
			f.found[free[0]] = i
		}
	case free[0] == "what":
		f.found["what"] = i
		f.notes = append(f.notes, words.Tell("the column %s was read as what was seen", words.Quoted(f.header(i))))
	default:
		if !slices.ContainsFunc(f.t.records, func(r record) bool { return !r.at(i).blank() }) && len(f.t.records) > 0 {
			return // nothing stands in it
		}
		var lines []string
		var readings []words.Sentence
		var choices []fault.Choice
		for _, m := range free {
			choices = append(choices, fault.Choice{Label: meaning(m), Key: "log.columns." + m, Value: f.header(i)})
			readings = append(readings, meaning(m))
			lines = append(lines, fmt.Sprintf("%s = %q", m, f.header(i)))
		}
		f.faults = append(f.faults, fault.Fault{Choices: choices, File: f.o.File, Line: f.t.header.line, Column: f.header(i),
			Text: words.Tell("this header can mean %s", words.Join(readings, words.Tell(" or "))),
			Hint: words.Tell("under [log.columns] in job.toml write %s", orElse(lines))})
	}
}

// fits tells whether a column's cells can be read as that meaning. Only lengths,
// clock positions and times tell; any text can be the rest.
func (f *finder) fits(i int, name string) bool {
	read, others := 0, 0
	for _, r := range f.t.records[:min(len(f.t.records), 1000)] {
		c := r.at(i)
		if c.blank() {
			continue
		}
		if fitsCell(c, name) {
			read++
		} else {
			others++
		}
	}
	return read >= others
}

func fitsCell(c cell, name string) bool {
	var err error
	switch name {
	case "clock":
		_, err = ParseClockSpan(c.text)
	case "distance":
		_, err = distance.Parse(trim(c.text), distance.ParseOptions{})
	case "time":
		_, err = timecode.ParseClock(trim(c.text), "")
	}
	return err == nil
}

// dates makes a column of dates with times the log's time where it has no other.
func (f *finder) dates() {
	i, ok := f.found["date"]
	_, timed := f.found["time"]
	_, elapsed := f.found["elapsed"]
	if !ok || timed || elapsed {
		return
	}
	for _, r := range f.t.records {
		c := r.at(i)
		if _, err := timecode.ParseClock(c.moment(), f.o.Dates); err == nil {
			f.found["time"] = i
			delete(f.found, "date")
			return
		}
	}
}

// meaning names a column's meaning as a person would.
func meaning(name string) words.Sentence {
	named := map[string]words.Sentence{
		"time": words.Tell("the time of day"), "elapsed": words.Tell("the time since the start"), "date": words.Tell("the date"), "video": words.Tell("the recording's time"),
		"distance": words.Tell("the distance"), "to": words.Tell("the end of a stretch"), "what": words.Tell("what was seen"), "code": words.Tell("the code of what was seen"),
		"clock": words.Tell("the clock position"), "urgency": words.Tell("how urgent it is"), "note": words.Tell("a note"), "size": words.Tell("the size"), "depth": words.Tell("the depth"),
		"spoken": words.Tell("the spoken note's file"), "photo": words.Tell("the photo's file"), "slope": words.Tell("the slope"),
	}
	return named[name]
}

// unitInBrackets finds a single word or mark in brackets: "Distance (cm)".
var unitInBrackets = regexp.MustCompile(`[(\[]\s*(\pL+|['"])\.?\s*[)\]]`)

// longestUnit is how long an abbreviation of a unit is at most: a word in brackets that
// is longer, such as "(counter)", says something else.
const longestUnit = 3

// unitOf is the unit of a column's bare numbers: the one that its header names, else the
// job's. unknown is what stands where a unit would, and is none that a length can be read
// in: then only a person can tell.
func (o Options) unitOf(header string) (u distance.Unit, unknown string) {
	h := strings.ToLower(header)
	if m := unitInBrackets.FindStringSubmatch(h); m != nil {
		switch key := words.FindUnit(m[1]); {
		case key == "other", key == "" && len([]rune(m[1])) <= longestUnit:
			return o.Unit, m[1]
		case key != "":
			return distance.Unit(key), ""
		}
	}
	parts := strings.FieldsFunc(h, func(r rune) bool { return strings.ContainsRune(" _./,;:()[]-", r) })
	for i, p := range slices.Backward(parts) {
		switch key := words.FindUnit(p); {
		case words.FindHeaderUnit(p) != "":
			return distance.Unit(words.FindHeaderUnit(p)), ""
		case key == "other":
			return o.Unit, p
		case key == "in" && i < len(parts)-1: // "in" is a word too: "Depth in cm", "in pipe"
		case key != "":
			return distance.Unit(key), ""
		}
	}
	return o.Unit, ""
}
