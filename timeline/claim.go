package timeline

import (
	"math"
	"time"

	"pushcue/timeline/clock"
	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/timecode"
)

// How rows are written (common practice, no published source): most of them while
// looking, give or take a second; some of them later; and some aren't where they
// say they are.
const (
	handNoise     = time.Second     // one standard deviation
	lateShare     = 0.25            // of rows
	usualLateness = 8 * time.Second // of those, on average
	longestLate   = 40 * time.Second
	strayShare    = 0.15 // of rows
	passingShare  = 0.2  // of a place passed, against one of a stand
)

// A claim is what one row says of the offset: what the log's clock showed as it
// was written, and when the track shows its distance.
type claim struct {
	log    timecode.Log
	sigma  float64 // of a time written while looking, seconds
	passes []distance.Pass
	weight float64 // of all passes together
}

// claims are what the rows with a time and a distance say of a part, their
// distances counted from another zero. Rows written at one place say one thing.
func (r *resolver) claims(part clock.Span, zero distance.Metres) []claim {
	var rows []*fieldlog.Row
	for i := range r.in.Log.Rows {
		row := &r.in.Log.Rows[i]
		if row.Time == nil || row.Distance == nil {
			continue
		}
		if n := len(rows); n > 0 && (row.Distance.Metres-rows[n-1].Distance.Metres).Abs() <= r.tolerance(row.Distance) {
			continue
		}
		rows = append(rows, row)
	}
	every := 1 + len(rows)/mostClaims
	var claims []claim
	for i := 0; i < len(rows); i += every {
		row := rows[i]
		c := claim{log: row.Time.Log, sigma: math.Hypot(handNoise.Seconds(), row.Time.Half.Seconds()/math.Sqrt(3))}
		d := r.correction.Apply(row.Distance.Metres) + zero
		for p := range r.track.Passes(d, r.tolerance(row.Distance), part.Start, part.End) {
			if !p.About {
				c.passes = append(c.passes, p)
				c.weight += weightOf(p)
			}
		}
		claims = append(claims, c)
	}
	return claims
}

func weightOf(p distance.Pass) float64 {
	if p.Stood {
		return 1
	}
	return passingShare
}

// early is how long before its moment a row may be written, as a hand goes.
func (c claim) early() time.Duration { return time.Duration(4 * c.sigma * float64(time.Second)) }

// density is the probability, a second, that the row is written when it was if
// it was seen in pass p, at any moment of it alike, and the offset is right.
func (c claim) density(p distance.Pass, offset timecode.Log) float64 {
	at := timecode.Video(c.log - offset)
	from, to := at.Sub(p.From).Seconds(), at.Sub(p.To).Seconds()
	if from-to < 0.5 {
		from, to = (from+to)/2+0.25, (from+to)/2-0.25
	}
	return weightOf(p) / c.weight * (c.written(from) - c.written(to)) / (from - to)
}

// written is the share of rows that are written by s seconds after their moment.
func (c claim) written(s float64) float64 {
	share := (1 - lateShare) * math.Erfc(-s/c.sigma/math.Sqrt2) / 2
	if s > 0 {
		share += lateShare * (1 - math.Exp(-s/usualLateness.Seconds()))
	}
	return share
}
