package jobsheet

import (
	"maps"
	"path/filepath"
	"slices"
	"strings"

	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// A Correction is a value of the job sheet that a person gave afterwards.
type Correction struct {
	File  string // where it stands, for faults
	Line  int
	Key   string // "line.size", "log.columns.distance"
	Value any    // as JSON has it: text, a number, true or false, a list
}

// ReadCorrected is Read, with corrections laid over the sheets. Corrections that
// can't be taken are named in unfit and leave the sheets' value.
func ReadCorrected(from Sources, cs []Correction) (sheet *Sheet, unfit fault.List, err error) {
	r := &reader{sheet: Default(), placed: map[string]place{}}
	r.source(from.Firm, inFirm)
	r.source(from.Visit, inVisit)
	r.source(from.Job, inJob)
	r.sheet.Given = slices.Sorted(maps.Keys(r.placed))
	// Where a key is corrected the sheets' own values may be what was wrong.
	own := r.faults
	for _, c := range cs {
		r.faults = nil
		if r.correct(c); len(r.faults) > 0 {
			unfit = append(unfit, r.faults...)
			continue
		}
		own = slices.DeleteFunc(own, func(f fault.Fault) bool { return f.Column == c.Key })
		if i, there := slices.BinarySearch(r.sheet.Corrected, c.Key); !there {
			r.sheet.Corrected = slices.Insert(r.sheet.Corrected, i, c.Key)
		}
	}
	r.faults = own
	r.consistency()
	if len(r.faults) > 0 {
		return nil, unfit, r.faults
	}
	return r.sheet, unfit, nil
}

// correct lays one value over the sheets.
func (r *reader) correct(c Correction) {
	r.at, r.level, r.lines = Source{File: c.File}, inJob, lineIndex{c.Key: c.Line}
	v := value{path: c.Key, line: c.Line, raw: plainValue(c.Value)}
	if table, _, _ := strings.Cut(c.Key, "."); table == "anchor" || strings.HasPrefix(c.Key, "distance.taped") || strings.HasPrefix(c.Key, "distance.reset") {
		r.fail(v, words.Tell("this isn't a single value of the job sheet"), words.Sentence{})
		return
	}
	inner := map[string]any{}
	top := inner
	parts := strings.Split(c.Key, ".")
	for _, part := range parts[:len(parts)-1] {
		deeper := map[string]any{}
		inner[part] = deeper
		inner = deeper
	}
	inner[parts[len(parts)-1]] = v.raw
	columns := maps.Clone(r.sheet.Log.Columns)
	apply(r, r.sheet, sheetFields(), top, "")
	if strings.HasPrefix(c.Key, "log.columns.") && len(columns) > 0 && r.sheet.Log.Columns != nil {
		// One column's word is given, the others stay.
		maps.Copy(columns, r.sheet.Log.Columns)
		r.sheet.Log.Columns = columns
	}
}

// plainValue is a value of JSON as a sheet would hold it: whole numbers are whole.
func plainValue(v any) any {
	switch v := v.(type) {
	case float64:
		if v == float64(int64(v)) {
			return int64(v)
		}
	case []any:
		list := make([]any, len(v))
		for i, item := range v {
			list[i] = plainValue(item)
		}
		return list
	}
	return v
}

// Misnamed returns what is wrong with a person's value for a key that names files: a
// correction may name files of the job folder only, whatever the job sheet itself may.
// It is empty for every other key.
func Misnamed(key string, v any) words.Sentence {
	if !slices.Contains([]string{"log.file", "log.kinds", "distance.readings", "firm.logo", "recording.files"}, key) {
		return words.Sentence{}
	}
	names, many := v.([]any)
	if !many {
		names = []any{v}
	}
	for _, name := range names {
		text, isText := name.(string)
		if isText && !filepath.IsLocal(filepath.FromSlash(strings.ReplaceAll(text, `\`, "/"))) {
			return words.Tell("%s: only a file of the job folder can be named here", key)
		}
	}
	return words.Sentence{}
}

// Keys are the keys whose value can be corrected, in the order of the sheet.
func Keys() []string {
	var keys []string
	for _, f := range sheetFields() {
		if f.get != nil {
			keys = append(keys, f.path)
		}
	}
	return keys
}
