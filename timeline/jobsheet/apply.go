package jobsheet

import (
	"maps"
	"slices"
	"strconv"
	"strings"

	"pushcue/timeline/words"
)

// A field is one key of a sheet: its path, the sheets that may hold it, and how its
// value is taken.
type field[T any] struct {
	path string
	in   level
	slot[T]
}

// apply takes a table's values in the order of fields and notes the keys that none
// of them knows. prefix is the table's own path: "anchor.0".
func apply[T any](r *reader, t *T, fields []field[T], table map[string]any, prefix string) {
	for _, f := range fields {
		raw, there := lookUp(table, f.path)
		if !there {
			continue
		}
		v := r.under(prefix, f.path, raw)
		if f.in&r.level == 0 {
			r.fail(v, words.Tell("this key doesn't belong in %s", r.level), words.Tell("move it to the job's own job.toml"))
			continue
		}
		r.placed[v.path] = place{r.at.File, v.line}
		f.set(r, t, v)
	}
	known := make([]string, len(fields))
	for i, f := range fields {
		known[i] = f.path
	}
	r.strangers(table, known, prefix, "")
}

// under makes the value at key below prefix.
func (r *reader) under(prefix, key string, raw any) value {
	if prefix != "" {
		key = prefix + "." + key
	}
	return value{path: key, line: r.lines.line(key), raw: raw}
}

// lookUp finds the value at a dotted path.
func lookUp(table map[string]any, path string) (any, bool) {
	for {
		key, rest, deeper := strings.Cut(path, ".")
		raw, there := table[key]
		if !there || !deeper {
			return raw, there
		}
		if table, there = raw.(map[string]any); !there {
			return nil, false
		}
		path = rest
	}
}

// strangers notes the keys of a table that no field knows. above is the path from
// the fields' root to the table.
func (r *reader) strangers(table map[string]any, known []string, prefix, above string) {
	for _, key := range slices.Sorted(maps.Keys(table)) {
		path := key
		if above != "" {
			path = above + "." + key
		}
		plainKey := !strings.Contains(key, ".")
		if plainKey && slices.Contains(known, path) {
			continue
		}
		v := r.under(prefix, path, table[key])
		if plainKey && slices.ContainsFunc(known, func(k string) bool { return strings.HasPrefix(k, path+".") }) {
			if inner, isTable := table[key].(map[string]any); isTable {
				r.strangers(inner, known, prefix, path)
			} else {
				r.fail(v, words.Tell("[%s] is a table, and here it is %s", path, describe(table[key])), words.Tell("write [%s] on a line of its own, its keys below", path))
			}
			continue
		}
		in := above
		if prefix != "" {
			in = strings.Trim(prefix+"."+above, ".")
		}
		r.unknown(v, key, in, below(known, above))
	}
}

// unknown notes a key that doesn't exist, with the nearest one that does: in its own
// table first, then anywhere.
func (r *reader) unknown(v value, key, table string, siblings []string) {
	text := words.Tell("there is no key %s", words.Quoted(key))
	if _, isTable := v.raw.(map[string]any); isTable && table == "" {
		text = words.Tell("there is no table [%s]", key)
	} else if table != "" {
		text = words.Tell("there is no key %s in [%s]", words.Quoted(key), tableName(table))
	}
	r.fail(v, text, suggest(key, siblings))
}

func suggest(key string, siblings []string) words.Sentence {
	if near := nearest(key, siblings); near != "" {
		return words.Tell("did you mean %s?", near)
	}
	for _, f := range sheetFields() {
		if table, name, deeper := strings.Cut(f.path, "."); deeper && name == key {
			return words.Tell("%s stands in [%s]", key, table)
		}
	}
	return words.Tell("possible here: %s", strings.Join(siblings, ", "))
}

// below lists the keys, one level deep, that known has under a table.
func below(known []string, above string) []string {
	var keys []string
	for _, path := range known {
		if above != "" {
			rest, under := strings.CutPrefix(path, above+".")
			if !under {
				continue
			}
			path = rest
		}
		key, _, _ := strings.Cut(path, ".")
		if !slices.Contains(keys, key) {
			keys = append(keys, key)
		}
	}
	return keys
}

// tableName writes "anchor.0" as a person finds it: "anchor", the first of them.
func tableName(path string) string {
	parts := slices.DeleteFunc(strings.Split(path, "."), func(p string) bool {
		_, err := strconv.Atoi(p)
		return err == nil
	})
	return strings.Join(parts, ".")
}
