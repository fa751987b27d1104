package timeline

import (
	"slices"
	"sort"
	"time"

	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/words"
)

// Explain tells in plain sentences how a data row came to its place or why it
// has none; false when the log has no such row.
func (t *Timeline) Explain(row int) ([]words.Sentence, bool) {
	for _, o := range t.Observations {
		if o.Row == row {
			return t.explainPlaced(o), true
		}
	}
	for _, u := range t.Unplaced {
		if u.Row == row {
			lines := []words.Sentence{written(u.Entry), words.Tell("It isn't placed: %s.", u.Cause)}
			return append(lines, t.describeClock()...), true
		}
	}
	return nil, false
}

func (t *Timeline) explainPlaced(o Observation) []words.Sentence {
	lines := append([]words.Sentence{written(o.Entry)}, o.Why...)
	if before, after, lopsided := o.Lopsided(); lopsided {
		lines = append(lines, words.Tell("So it is observation %d, at %s (frame %d), between %s before and %s after in 19 of 20 cases.",
			o.Number, o.Video.Format(3), o.Frame, about(before), about(after)))
	} else {
		lines = append(lines, words.Tell("So it is observation %d, at %s (frame %d), give or take %s in 19 of 20 cases.",
			o.Number, o.Video.Format(3), o.Frame, about(o.Uncertainty)))
	}
	lines = append(lines, t.explainPicture(o)...)
	if d := o.Distance; d != nil {
		shown := d.Shown(t.Sheet.Job.Units)
		switch own := o.Entry.Distance; {
		case own == nil:
			lines = append(lines, words.Tell("Its distance is %s, as the track shows it.", shown))
		case t.Track.Offset(o.Video) != 0:
			lines = append(lines, words.Tell("Its distance is %s, the log's %s corrected and counted on from where the counter was set anew.", shown, own.Text))
		case own.Metres != *d:
			lines = append(lines, words.Tell("Its distance is %s, the log's %s corrected by zero and taped lengths.", shown, own.Text))
		default:
			lines = append(lines, words.Tell("Its distance is %s, as the log has it.", shown))
		}
	}
	if o.TrueTime == nil {
		lines = append(lines, words.Tell("Its true time isn't known, since the log's clock is unsure there."))
	}
	if o.Hidden {
		lines = append(lines, words.Tell("It lies outside what is shown to the customer."))
	}
	if o.Entry.Time != nil {
		lines = append(lines, t.describeClock()...)
	}
	return lines
}

// explainPicture tells what the on-screen counter shows where a row was placed.
func (t *Timeline) explainPicture(o Observation) []words.Sentence {
	if !slices.Contains(t.Track.Sources(), distance.FromPicture) {
		return nil
	}
	const near = time.Second
	rs := t.Track.Readings()
	after := sort.Search(len(rs), func(i int) bool { return rs[i].At > o.Video })
	shown := func(i int) words.Sentence { return rs[i].Shown.Shown(t.Sheet.Job.Units) }
	var line words.Sentence
	switch before := after - 1; {
	case before >= 0 && o.Video.Sub(rs[before].At) <= near:
		line = words.Tell("The on-screen counter showed %s at %s.", shown(before), rs[before].At)
	case before >= 0 && after < len(rs):
		line = words.Tell("The on-screen counter couldn't be read there: it showed %s at %s, and %s at %s.",
			shown(before), rs[before].At, shown(after), rs[after].At)
	default:
		line = words.Tell("The on-screen counter couldn't be read there.")
	}
	if o.Unconfirmed {
		line = words.Tell("%s Nobody has confirmed yet that it was read right.", line)
	}
	return []words.Sentence{line}
}

func (t *Timeline) describeClock() []words.Sentence {
	if t.Clock == nil {
		lines := []words.Sentence{words.Tell("Nothing ties the log's clock to the recording.")}
		for _, a := range t.Agreements {
			lines = append(lines, words.Tell("In %s it can't be told from the distances: %s.", a.Part, a.Why))
		}
		return lines
	}
	lines := t.Clock.Describe()
	switch {
	case t.Late == nil:
	case *t.Late == 0:
		lines = append(lines, words.Tell("By its rows, this log was written promptly."))
	default:
		lines = append(lines, words.Tell("By its rows, this log was written about %s late.", words.Plain("%.0f s", t.Late.Seconds())))
	}
	for _, a := range t.Agreements {
		if a.Sure {
			lines = append(lines, words.Tell("In %s, %s.", a.Part, a.describe()))
		}
	}
	return lines
}

// written repeats what a row says.
func written(row *fieldlog.Row) words.Sentence {
	var parts []words.Sentence
	if row.What.Text != "" {
		parts = append(parts, words.Tell("what: %s", row.What.Text))
	}
	if row.Time != nil {
		parts = append(parts, words.Tell("time %s", row.Time.Text))
	}
	if row.Video != nil {
		parts = append(parts, words.Tell("recording time %s", row.Video.Text))
	}
	if row.Distance != nil {
		parts = append(parts, words.Tell("distance %s", row.Distance.Text))
	}
	if row.To != nil {
		parts = append(parts, words.Tell("to %s", row.To.Text))
	}
	if len(parts) == 0 {
		return words.Tell("Row %d says neither what, when nor where.", row.Number)
	}
	return words.Tell("Row %d says %s.", row.Number, words.Join(parts, words.Comma))
}
