package handover

import (
	"maps"
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"pushcue/timeline"
	"pushcue/timeline/codes"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/words"
)

// An unsaid is what a reader who isn't the customer isn't told: how to reach the
// customer. The zero value is nothing.
type unsaid struct{ customer jobsheet.Contact }

// keepsBack reports whether a kind of files, "spoken" or "photo", isn't for the buyer.
func (j *Job) keepsBack(kind string) bool {
	b := j.Sheet.Buyer
	return j.ask.For == forBuyer && map[string]string{"spoken": b.Spoken, "photo": b.Photos}[kind] == "drop"
}

// in finds contact data in a text: whole is what stands there as in the job sheet,
// part a word of the customer's name.
func (u unsaid) in(text string) (whole, part string) {
	plain := folded(text)
	for _, known := range []string{u.customer.Name, u.customer.Email, u.customer.Address} {
		if k := folded(known); k != "" && strings.Contains(plain, k) {
			return known, ""
		}
	}
	const least = 6 // digits; fewer may be anything
	if number := digits(u.customer.Phone); len(number) >= least && strings.Contains(digits(text), number) {
		return u.customer.Phone, ""
	}
	words := strings.FieldsFunc(plain, func(r rune) bool { return !unicode.IsLetter(r) })
	for _, name := range strings.Fields(u.customer.Name) {
		if len([]rune(name)) > 3 && slices.Contains(words, folded(name)) {
			return "", name
		}
	}
	return "", ""
}

func folded(s string) string {
	return strings.ToLower(strings.Join(strings.Fields(norm.NFC.String(s)), " "))
}

func digits(s string) string {
	return strings.Map(func(r rune) rune {
		if '0' <= r && r <= '9' {
			return r
		}
		return -1
	}, s)
}

// warnOfNames names what is shown as it was written and tells of the customer: what
// somebody wrote is never changed.
func (m *maker) warnOfNames() {
	if m.opts.For != forBuyer {
		return
	}
	t := m.placed.Timeline
	var rows []fieldlog.Row
	if t.Log != nil {
		rows = t.Log.Rows
	}
	for _, row := range rows {
		for _, text := range []string{row.What.Text, row.Note, row.Size} {
			m.warnOfName(row.Number, words.Tell("row %d", row.Number), text)
		}
	}
	j, l := t.Sheet.Job, t.Sheet.Line
	for _, field := range [][2]string{
		{"job.reason", j.Reason}, {"job.ended", j.Ended}, {"job.cleaned", j.Cleaned}, {"job.weather", j.Weather}, {"job.reference", j.Reference},
		{"line.name", l.Name}, {"line.from", l.From}, {"line.to", l.To},
	} {
		m.warnOfName(0, words.Tell("the job sheet's %s", field[0]), field[1])
	}
}

func (m *maker) warnOfName(row int, where words.Sentence, text string) {
	whole, part := m.job.unsaid.in(text)
	if whole+part == "" {
		return
	}
	m.warnings = append(m.warnings, timeline.Warning{
		Code: codes.CustomerNamed, Row: row, Unsettled: whole != "",
		Text: words.Tell("%s tells of the customer (%s), and is shown as it was written", where, whole+part),
		Hint: words.Tell("correct it if the buyer isn't to know"),
	})
}

// logShown is the timeline with a log whose own columns, those that mean nothing to us,
// don't tell how to reach the customer.
func (m *maker) logShown() *timeline.Timeline {
	t := *m.placed.Timeline
	if m.opts.For != forBuyer {
		return &t
	}
	log := *t.Log
	log.Rows = slices.Clone(log.Rows)
	known := slices.Collect(maps.Values(log.Meaning))
	for i := range log.Rows {
		cells := slices.Clone(log.Rows[i].Cells)
		for column := range cells {
			if whole, _ := m.job.unsaid.in(cells[column]); whole != "" && !slices.Contains(known, column) {
				cells[column] = ""
			}
		}
		log.Rows[i].Cells = cells
	}
	t.Log = &log
	return &t
}
