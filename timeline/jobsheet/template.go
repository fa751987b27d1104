package jobsheet

import (
	_ "embed"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"
)

//go:embed template.toml
var template string

// A Start is what is known when a job folder is made.
type Start struct {
	Date Date   // zero: left to be filled in
	Zone string // IANA name; "": left to be filled in
	Line string // name of the line; "": left to be filled in

	Values map[string]string // text by its key: "job.reference", "customer.name" …
}

// Template is a commented job.toml for `pushcue new`: it reads without a fault as it
// is, and every key that a sheet may hold stands in it, commented out.
func Template(s Start) []byte {
	text := template
	if !s.Date.IsZero() {
		text = fill(text, "date = 2026-03-02", "date = "+s.Date.String())
	}
	if _, err := time.LoadLocation(s.Zone); s.Zone != "" && s.Zone != "Local" && err == nil {
		text = fill(text, `zone = "Europe/Lisbon"`, "zone = "+quote(s.Zone))
	}
	if s.Line != "" {
		text = fill(text, `name = "kitchen lateral"`, "name = "+quote(s.Line))
	}
	for _, key := range slices.Sorted(maps.Keys(s.Values)) {
		if value := strings.TrimSpace(s.Values[key]); value != "" {
			text = fillIn(text, key, value)
		}
	}
	return []byte(text)
}

// fillIn puts a value at its key's place, be it commented there or not; a key that
// the template doesn't have changes nothing.
func fillIn(text, key, value string) string {
	table, name, _ := strings.Cut(key, ".")
	lines := strings.Split(text, "\n")
	in := false
	for i, line := range lines {
		bare := strings.TrimSpace(strings.TrimPrefix(strings.TrimSpace(line), "#"))
		if strings.HasPrefix(bare, "[") {
			in = strings.HasPrefix(bare, "["+table+"]")
			continue
		}
		if word, _, is := strings.Cut(bare, "="); in && is && strings.TrimSpace(word) == name {
			lines[i] = name + " = " + quote(value)
			break
		}
	}
	return strings.Join(lines, "\n")
}

// fill puts a real value where the template has a commented example.
func fill(text, example, with string) string {
	return strings.Replace(text, "# "+example, with, 1)
}

// quote writes a TOML basic string.
func quote(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r < 0x20 || r == 0x7f:
			b.WriteString(`\u00` + strconv.FormatInt(int64(r)+0x100, 16)[1:])
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}
