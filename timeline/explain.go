package timeline

import (
	"fmt"
	"slices"
	"sort"
	"strings"
	"time"

	"pushcue/timeline/distance"
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
	lines = append(lines, t.explainPicture(o)...)
	if d := o.Distance; d != nil {
		unit := t.Sheet.Job.Units
		line := fmt.Sprintf("Its distance is %s, ", d.Format(unit, '.'))
		switch own := o.Entry.Distance; {
		case own == nil:
			line += "as the track shows it."
		case t.Track.Offset(o.Video) != 0:
			line += fmt.Sprintf("the log's %s corrected and counted on from where the counter was set anew.", own.Text)
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

// explainPicture tells what the on-screen counter shows where a row was placed.
func (t *Timeline) explainPicture(o Observation) []string {
	if !slices.Contains(t.Track.Sources(), distance.FromPicture) {
		return nil
	}
	const near = time.Second
	rs := t.Track.Readings()
	after := sort.Search(len(rs), func(i int) bool { return rs[i].At > o.Video })
	show := func(i int) string {
		return fmt.Sprintf("%s at %s", rs[i].Shown.Format(t.Sheet.Job.Units, '.'), rs[i].At.Format(1))
	}
	var line string
	switch before := after - 1; {
	case before >= 0 && o.Video.Sub(rs[before].At) <= near:
		line = "The on-screen counter showed " + show(before) + "."
	case before >= 0 && after < len(rs):
		line = fmt.Sprintf("The on-screen counter couldn't be read there: it showed %s, and %s.", show(before), show(after))
	default:
		line = "The on-screen counter couldn't be read there."
	}
	if o.Unconfirmed {
		line += " Nobody has confirmed yet that it was read right."
	}
	return []string{line}
}

func (t *Timeline) describeClock() []string {
	if t.Clock == nil {
		lines := []string{"Nothing ties the log's clock to the recording."}
		for _, a := range t.Agreements {
			lines = append(lines, fmt.Sprintf("In %s it can't be told from the distances: %s.", a.Part, a.Why))
		}
		return lines
	}
	lines := t.Clock.Describe()
	for _, a := range t.Agreements {
		if a.Sure {
			lines = append(lines, fmt.Sprintf("In %s, %s.", a.Part, a.describe()))
		}
	}
	return lines
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
