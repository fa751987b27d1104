package handover

import (
	"maps"
	"slices"

	"pushcue/internal/job"
	"pushcue/timeline"
	"pushcue/timeline/codes"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/words"
)

// warnOfNames names what is shown as it was written and tells of the customer: what
// somebody wrote is never changed.
func (m *making) warnOfNames() {
	if m.opts.For != job.ForBuyer {
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

func (m *making) warnOfName(row int, where words.Sentence, text string) {
	whole, part := m.job.Unsaid.In(text)
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
func (m *making) logShown() *timeline.Timeline {
	t := *m.placed.Timeline
	if m.opts.For != job.ForBuyer {
		return &t
	}
	log := *t.Log
	log.Rows = slices.Clone(log.Rows)
	known := slices.Collect(maps.Values(log.Meaning))
	for i := range log.Rows {
		cells := slices.Clone(log.Rows[i].Cells)
		for column := range cells {
			if whole, _ := m.job.Unsaid.In(cells[column]); whole != "" && !slices.Contains(known, column) {
				cells[column] = ""
			}
		}
		log.Rows[i].Cells = cells
	}
	t.Log = &log
	return &t
}
