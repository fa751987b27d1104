// Package edition numbers the states of a handover that left the house, and remembers where
// each of them went.
//
//	book := edition.Read(text)
//	e := book.Next(identity, "2026-03-02", "2026-03-07")
//	line := edition.Line{What: edition.Made, Edition: e, List: sum}
//
// An edition is its content: the identity is a hash over everything in the handover but the
// number itself. Making the same again gives the same edition, and so the same bytes. The
// number rises only when something else is made after an edition left the house; what nobody
// got needs no number of its own.
//
// The record is a file of lines that are only appended. It is trusted as far as numbers, days
// and names of drives go: a stranger who writes into it can make a page carry another number,
// and nothing else.
package edition

import (
	"bytes"
	"encoding/json"
	"fmt"
	"regexp"
	"strconv"
	"time"
)

// An Edition is one state of a handover.
type Edition struct {
	Number   int    `json:"edition"`
	Identity string `json:"identity,omitempty"` // hexadecimal; "" of one that an earlier version made
	Day      string `json:"day,omitempty"`      // 2026-03-02; "" where it isn't known
	Replaces int    `json:"replaces,omitempty"` // the edition that left the house before
	Left     string `json:"replaced_left,omitempty"`
}

// What a Line tells.
const (
	Made = "made" // an edition was made
	Left = "left" // it was copied or archived
)

// Version is the version of a Line. Lines of a later one are passed over.
const Version = 1

// A Line is one line of the record.
type Line struct {
	Version int    `json:"v"`
	What    string `json:"what"`
	Edition
	List   string    `json:"list"`             // SHA-256 of the list of sums
	At     time.Time `json:"at,omitzero"`      // when it left; zero of one that was made
	To     string    `json:"to,omitempty"`     // path of the copy's folder or of the archive
	Label  string    `json:"label,omitempty"`  // of the drive, as far as the system tells
	Serial string    `json:"serial,omitempty"` // likewise
	Seal   string    `json:"seal,omitempty"`   // over the above; see Claim
}

// Claim is what the seal of a line is over.
func (l Line) Claim() []any {
	l.Seal = ""
	return []any{"handover edition", l}
}

// Text is the line as it stands in the record.
func (l Line) Text() ([]byte, error) {
	l.Version = Version
	text, err := json.Marshal(l)
	return append(text, '\n'), err
}

// A Book is a record that was read.
type Book struct{ Lines []Line }

const mostNumber = 9999

// Read reads a record. What isn't a line of ours, such as the last one of a run that was cut
// short, is passed over.
func Read(text []byte) *Book {
	b := &Book{}
	for line := range bytes.Lines(text) {
		var l Line
		if json.Unmarshal(line, &l) == nil && l.Version == Version && (l.What == Made || l.What == Left) && l.Edition.valid() {
			b.Lines = append(b.Lines, l)
		}
	}
	return b
}

func (e Edition) valid() bool {
	return e.Number > 0 && e.Number <= mostNumber && e.Replaces >= 0 && e.Replaces < e.Number &&
		isDay(e.Day) && isDay(e.Left) && hexadecimal.MatchString(e.Identity)
}

var hexadecimal = regexp.MustCompile(`^[0-9a-f]{0,64}$`)

func isDay(s string) bool {
	_, err := time.Parse(time.DateOnly, s)
	return s == "" || err == nil
}

// Next returns the edition of a handover with that identity. asOf is the day of what it tells,
// "" where that isn't known; today is the day on which a further edition begins.
func (b *Book) Next(identity, asOf, today string) Edition {
	last, left := b.last()
	switch {
	case !left:
		return Edition{Number: 1, Identity: identity, Day: asOf}
	case last.Identity == identity:
		return last.Edition
	}
	e := Edition{Number: last.Number + 1, Identity: identity, Day: today, Replaces: last.Number, Left: b.firstLeft(last.Number)}
	for _, l := range b.Lines {
		if l.What == Made && l.Number == e.Number && l.Identity == identity && l.Day != "" {
			e.Day = l.Day
		}
	}
	return e
}

// last is the highest edition that left the house, as it last did.
func (b *Book) last() (last Line, left bool) {
	for _, l := range b.Lines {
		if l.What == Left && l.Number >= last.Number {
			last, left = l, true
		}
	}
	return last, left
}

// firstLeft is the day on which an edition first left the house.
func (b *Book) firstLeft(number int) string {
	for _, l := range b.Lines {
		if l.What == Left && l.Number == number && !l.At.IsZero() {
			return l.At.Format(time.DateOnly)
		}
	}
	return ""
}

// Of returns the edition whose list of sums has that sum.
func (b *Book) Of(list string) (Edition, bool) {
	for i := len(b.Lines) - 1; i >= 0; i-- {
		if b.Lines[i].List == list {
			return b.Lines[i].Edition, true
		}
	}
	return Edition{}, false
}

// Gone are the lines of what left the house, the latest for each place and edition.
func (b *Book) Gone() []Line {
	var all []Line
	for i, l := range b.Lines {
		again := func(o Line) bool {
			return o.What == Left && o.Number == l.Number && o.To == l.To && o.Label == l.Label && o.Serial == l.Serial
		}
		later := false
		for _, o := range b.Lines[i+1:] {
			later = later || again(o)
		}
		if l.What == Left && !later {
			all = append(all, l)
		}
	}
	return all
}

// Mark is the edition as a page holds it, for a handover whose record is gone: one unpacked
// from an archive goes on from there.
func (e Edition) Mark() string {
	dash := func(s string) string {
		if s == "" {
			return "-"
		}
		return s
	}
	return fmt.Sprintf("%d %s %d %s %s", e.Number, dash(e.Day), e.Replaces, dash(e.Left), dash(e.Identity))
}

var mark = regexp.MustCompile(`<meta name="edition" content="([0-9]{1,4}) ([0-9-]{1,10}) ([0-9]{1,4}) ([0-9-]{1,10}) ([0-9a-f-]{1,64})">`)

// InPage reads the edition out of a page's beginning.
func InPage(page []byte) (Edition, bool) {
	m := mark.FindSubmatch(page)
	if m == nil {
		return Edition{}, false
	}
	text := func(b []byte) string {
		if string(b) == "-" {
			return ""
		}
		return string(b)
	}
	e := Edition{Day: text(m[2]), Left: text(m[4]), Identity: text(m[5])}
	e.Number, _ = strconv.Atoi(string(m[1]))
	e.Replaces, _ = strconv.Atoi(string(m[3]))
	return e, e.valid()
}
