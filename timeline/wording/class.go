package wording

import (
	"strings"

	"pushcue/timeline/fieldlog"
	"pushcue/timeline/words"
)

// A class is what a row asks of its reader, the most pressing first.
type class int

const (
	danger   class = iota // may hurt somebody or has given way, whatever the urgency
	atOnce                // the technician's urgency, here and below
	repair                //
	watch                 //
	open                  // a defect without an urgency
	noAction              // a defect with urgency "none"
	halted                // the camera could go no further, for whatever reason
	unclear               // a person has to read whether it names a fault
	feature               // a part of a sound line
	classes
)

// features are kinds that are parts of a sound line. Every other kind is a defect, but
// for "could-go-no-further", which tells nothing of why.
var features = map[string]bool{
	"connection": true, "bend": true, "size-change": true, "material-change": true, "lining": true, "patch": true,
	"line-start": true, "line-end": true,
}

// dangers come first whatever their urgency: a line of gas or power that may have been
// bored through the drain, and a pipe that has fallen in.
var dangers = map[string]bool{"crossing-utility": true, "collapse": true}

// classOf sorts a row. A row of an unknown kind, a remark, and a feature whose note names
// a defect are unclear, so that nothing is called sound that may not be.
func classOf(row *fieldlog.Row) class {
	if row == nil {
		return unclear
	}
	if dangers[row.What.Key] {
		return danger
	}
	switch row.Urgency {
	case fieldlog.UrgencyAtOnce:
		return atOnce
	case fieldlog.UrgencyRepair:
		return repair
	case fieldlog.UrgencyWatch:
		return watch
	}
	switch {
	case row.What.Key == "could-go-no-further":
		return halted
	case features[row.What.Key]:
		if namesDefect(row.Note) {
			return unclear
		}
		return feature
	case row.What.Key == "" || row.What.Key == "remark":
		return unclear
	case row.Urgency == fieldlog.UrgencyNone:
		return noAction
	}
	return open
}

// namesDefect reports whether a text holds the word for a defect in any of the languages.
// "No roots" counts too: a person has to read it.
func namesDefect(text string) bool {
	const longest = 5 // words of a kind's name
	fields := strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(" \t\r\n,;.:!?()/", r) })
	for i := range fields {
		for n := 1; n <= longest && i+n <= len(fields); n++ {
			if key, ok := words.FindKind(strings.Join(fields[i:i+n], " ")); ok && !features[key] && key != "remark" {
				return true
			}
		}
	}
	return false
}
