package jobsheet

import (
	"bytes"
	"errors"
	"regexp"
	"sort"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"
	"golang.org/x/text/encoding/unicode"

	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// parse turns a sheet's bytes into TOML's values and the line of each key. A sheet
// that isn't TOML is one fault, the first: nothing after it can be trusted.
func parse(data []byte) (map[string]any, lineIndex, *fault.Fault) {
	if len(data) > MaxBytes {
		return nil, nil, &fault.Fault{Text: words.Tell("far too large for a sheet"), Hint: words.Tell("check that the right file was named")}
	}
	data, broken := plain(data)
	if broken != nil {
		return nil, nil, broken
	}
	var table map[string]any
	if err := toml.Unmarshal(data, &table); err != nil {
		return nil, nil, notTOML(data, err)
	}
	return table, indexLines(data), nil
}

// plain makes UTF-8 without a byte order mark of what editors save.
func plain(data []byte) ([]byte, *fault.Fault) {
	switch {
	case bytes.HasPrefix(data, []byte("\xff\xfe")), bytes.HasPrefix(data, []byte("\xfe\xff")):
		text, err := unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewDecoder().Bytes(data)
		if err != nil {
			return nil, &fault.Fault{Text: words.Tell("the text is damaged"), Hint: words.Tell("save the sheet as UTF-8")}
		}
		data = text
	case bytes.HasPrefix(data, []byte("\xef\xbb\xbf")):
		data = data[3:]
	}
	if i := invalidAt(data); i >= 0 {
		return nil, &fault.Fault{Line: 1 + bytes.Count(data[:i], []byte("\n")),
			Text: words.Tell("a letter is not in UTF-8"), Hint: words.Tell("save the sheet as UTF-8 in your editor")}
	}
	return data, nil
}

// invalidAt finds the first byte that is no UTF-8; -1 for none.
func invalidAt(data []byte) int {
	for i := 0; i < len(data); {
		r, size := utf8.DecodeRune(data[i:])
		if r == utf8.RuneError && size <= 1 {
			return i
		}
		i += size
	}
	return -1
}

func notTOML(data []byte, err error) *fault.Fault {
	broken := &fault.Fault{Text: words.Plain("%s", strings.TrimPrefix(err.Error(), "toml: ")),
		Hint: words.Tell(`write one key = "value" a line; text stands in quotes`)}
	var at *toml.DecodeError
	if !errors.As(err, &at) {
		return broken
	}
	broken.Line, _ = at.Position()
	lines := bytes.Split(data, []byte("\n"))
	if broken.Line < 1 || broken.Line > len(lines) {
		return broken
	}
	broken.Value = strings.TrimSpace(string(lines[broken.Line-1]))
	switch m := unquoted.FindStringSubmatch(broken.Value); {
	case strings.Contains(broken.Value, `\`):
		broken.Hint = words.Tell(`write paths with / or in single quotes: 'video\part1.mp4'`)
	case m != nil:
		broken.Text = words.Tell("quotes are missing round what stands behind the =")
		broken.Hint = words.Tell("write it so: %s = %q", m[1], m[2])
	}
	return broken
}

// unquoted is a key with a text, a time or another way of writing a date behind it that
// no quotes stand round.
var unquoted = regexp.MustCompile(`^([A-Za-z_]+)\s*=\s*([^"'\[{#\s][^"'#]*[^"'#\s])\s*(?:#.*)?$`)

// A lineIndex is the line of each key by its whole path; tables of an array are
// counted from 0: "anchor.0.video".
type lineIndex map[string]int

// line finds a key, or the nearest one above it that stands on a line of its own.
func (x lineIndex) line(path string) int {
	for {
		if n := x[path]; n > 0 {
			return n
		}
		dot := strings.LastIndexByte(path, '.')
		if dot < 0 {
			return 0
		}
		path = path[:dot]
	}
}

func indexLines(data []byte) lineIndex {
	var starts []int
	for i, b := range data {
		if b == '\n' {
			starts = append(starts, i)
		}
	}
	index := lineIndex{}
	note := func(path string, at unstable.Range) {
		if _, known := index[path]; !known {
			index[path] = 1 + sort.SearchInts(starts, int(at.Offset))
		}
	}
	var p unstable.Parser
	p.Reset(data)
	table := ""
	arrays := map[string]int{}
	for p.NextExpression() {
		node := p.Expression()
		var key []string
		var at unstable.Range
		for it := node.Key(); it.Next(); {
			if key = append(key, string(it.Node().Data)); len(key) == 1 {
				at = it.Node().Raw
			}
		}
		path := strings.Join(key, ".")
		switch node.Kind {
		case unstable.ArrayTable:
			note(path, at)
			table = path + "." + strconv.Itoa(arrays[path])
			arrays[path]++
			note(table, at)
		case unstable.Table:
			table = path
			note(table, at)
		case unstable.KeyValue:
			if table != "" {
				path = table + "." + path
			}
			note(path, at)
		}
	}
	return index
}

// describe names a TOML value's type as a person would.
func describe(v any) words.Sentence {
	switch v.(type) {
	case string:
		return words.Tell("text")
	case int64, float64:
		return words.Tell("a number")
	case bool:
		return words.Tell("true or false")
	case []any:
		return words.Tell("a list")
	case map[string]any:
		return words.Tell("a table")
	}
	return words.Tell("a date or time")
}
