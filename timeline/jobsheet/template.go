package jobsheet

import (
	_ "embed"
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
	return []byte(text)
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
