package timeline

import (
	"fmt"
	"strings"

	"pushcue/timeline/fieldlog"
)

// Explain tells in plain sentences how a data row came to its place or why it
// has none; false when the log has no such row.
func (t *Timeline) Explain(row int) ([]string, bool) {
	for _, o := range t.Observations {
		if o.Row == row {
			return t.explainPlaced(o), true
		}
	}
	for _, u := range t.Unplaced {
		if u.Row == row {
			lines := []string{written(u.Entry), fmt.Sprintf("It isn't placed: %s.", u.Cause)}
			return append(lines, t.describeClock()...), true
		}
	}
	return nil, false
}

func (t *Timeline) explainPlaced(o Observation) []string {
	lines := append([]string{written(o.Entry)}, o.Why...)
	lines = append(lines, fmt.Sprintf("So it is observation %d, at %s (frame %d), give or take %s in 19 of 20 cases.",
		o.Number, o.Video.Format(3), o.Frame, about(o.Uncertainty)))
	if d := o.Distance; d != nil {
		unit := t.Sheet.Job.Units
		line := fmt.Sprintf("Its distance is %s, ", d.Format(unit, '.'))
		switch own := o.Entry.Distance; {
		case own == nil:
			line += "as the track shows it."
		case own.Metres != *d:
			line += fmt.Sprintf("the log's %s corrected by zero and taped lengths.", own.Text)
		default:
			line += "as the log has it."
		}
		lines = append(lines, line)
	}
	if o.TrueTime == nil {
		lines = append(lines, "Its true time isn't known, since the log's clock is unsure there.")
	}
	if o.Hidden {
		lines = append(lines, "It lies outside what is shown to the customer.")
	}
	if o.Entry.Time != nil {
		lines = append(lines, t.describeClock()...)
	}
	return lines
}

func (t *Timeline) describeClock() []string {
	if t.Clock == nil {
		return []string{"Nothing ties the log's clock to the recording."}
	}
	return t.Clock.Describe()
}

// written repeats what a row says.
func written(row *fieldlog.Row) string {
	var parts []string
	add := func(name, text string) {
		if text != "" {
			parts = append(parts, name+" "+text)
		}
	}
	add("what:", row.What.Text)
	if row.Time != nil {
		add("time", row.Time.Text)
	}
	if row.Video != nil {
		add("recording time", row.Video.Text)
	}
	if row.Distance != nil {
		add("distance", row.Distance.Text)
	}
	if row.To != nil {
		add("to", row.To.Text)
	}
	if len(parts) == 0 {
		return fmt.Sprintf("Row %d says neither what, when nor where.", row.Number)
	}
	return fmt.Sprintf("Row %d says %s.", row.Number, strings.Join(parts, ", "))
}
