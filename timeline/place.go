package timeline

import (
	"context"
	"slices"
	"time"

	"pushcue/timeline/codes"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// A place is where a row belongs, before it is put on a frame.
type place struct {
	at               timecode.Video
	half             time.Duration  // half-width that holds the truth in 95 % of cases
	earliest, latest timecode.Video // as do these; both 0: half to either side
	basis            Basis
	why              []words.Sentence
	timed            bool // the log clock is sure there, so that true time may be told
	track            bool // it rests on the track
	sure             bool // all but a two-hundredth of the belief lies within ten seconds
}

// placeRows gives each row a place or a cause why it has none.
func (r *resolver) placeRows(ctx context.Context) error {
	if r.in.Log == nil {
		return nil
	}
	for i := range r.in.Log.Rows {
		if i%64 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		row := &r.in.Log.Rows[i]
		if row.Aside {
			r.t.Aside = append(r.t.Aside, Aside{Row: row.Number, Entry: row})
			continue
		}
		p, cause := r.place(i, row)
		if cause != nil {
			r.leave(row, *cause)
			continue
		}
		r.t.Observations = append(r.t.Observations, r.observe(row, p))
	}
	slices.SortStableFunc(r.t.Observations, func(a, b Observation) int { return a.Frame - b.Frame })
	for i := range r.t.Observations {
		r.t.Observations[i].Number = i + 1
	}
	return nil
}

// A cause says why a row has no place, and what to do.
type cause struct{ text, hint words.Sentence }

// leave lists a row that found no place.
func (r *resolver) leave(row *fieldlog.Row, c cause) {
	r.t.Unplaced = append(r.t.Unplaced, Unplaced{Row: row.Number, Cause: c.text, Entry: row})
	r.warn(Warning{Code: codes.RowUnplaced, Row: row.Number,
		Text: words.Tell("row %d isn't placed: %s", row.Number, c.text), Hint: c.hint})
}

// place goes from what is surest to what is weakest: what a person said, the
// recording's own time, the log's clock, the distance.
func (r *resolver) place(i int, row *fieldlog.Row) (place, *cause) {
	var before *cause
	if row.Seen != nil {
		p, c := r.byPerson(row)
		if c == nil {
			return p, nil
		}
		before = c
	}
	if row.Video != nil {
		p, c := r.byVideo(row)
		if c == nil {
			return p, nil
		}
		before = c
	}
	if before != nil && row.Time == nil && row.Distance == nil {
		return place{}, before
	}
	if row.Time != nil {
		p, c := r.byTime(row, &r.belief.Rows[i])
		if c == nil {
			return r.despite(row, p, before), nil
		}
		if before == nil {
			before = c
		}
	} else if row.Distance != nil {
		p, c := r.byDistance(row, &r.belief.Rows[i])
		if c == nil {
			return r.despite(row, p, before), nil
		}
		if before == nil {
			before = c
		}
	}
	if before == nil {
		before = &cause{words.Tell("it has no time, no recording time and no distance"), words.Tell("add one of the three to the row")}
	}
	return place{}, before
}

// despite says that a row found its place although its recording time couldn't be used.
func (r *resolver) despite(row *fieldlog.Row, p place, c *cause) place {
	if c != nil {
		r.warn(Warning{Code: codes.VideoUnusable, Row: row.Number,
			Text: AboutRow(row.Number, words.Tell("its recording time can't be used (%s); it's placed by what else it has", c.text)), Hint: c.hint})
		p.why = append([]words.Sentence{words.Tell("Its recording time can't be used: %s.", c.text)}, p.why...)
	}
	return p
}
