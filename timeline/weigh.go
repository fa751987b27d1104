package timeline

import (
	"cmp"
	"math"
	"slices"
	"time"

	"pushcue/timeline/belief"
	"pushcue/timeline/clock"
	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
)

// How the log's distances may stand to the track's (common practice, no published
// source): most are what the counter showed; some are longer or shorter throughout, as
// a slipping counter or marks on the cable make them, or counted from another zero.
const (
	otherScale = 0.09 // share of logs
	otherZero  = 0.07
)

var (
	otherScales = []float64{-0.03, -0.025, -0.02, -0.015, -0.01, -0.005, 0.005, 0.01, 0.015, 0.02, 0.025, 0.03}
	otherZeros  = []distance.Metres{-3, -2, -1, -0.5, 0.5, 1, 2, 3}
)

// How a written distance is off: most are what the counter showed, rounded; some are
// off by a little more, since a hand rounds or reads while the camera moves.
const (
	looseShare                 = 0.2
	looseReach distance.Metres = 0.25
	looseScale                 = 0.01 // of the distance, on top
	unreadGap                  = 1.0  // metres on top of what the camera did in a gap between readings
	wrongStart                 = 0.02 // share of anchors and starts that are wrong
	wrongFiles                 = 0.3  // of recorders' times
)

// fewestToShift is how many distances it takes to tell a log whose distances are
// counted otherwise than the track's from a few slips of the pen.
const fewestToShift = 5

func (r *resolver) withDistance() (n int) {
	for i := range r.in.Log.Rows {
		if r.in.Log.Rows[i].Distance != nil {
			n++
		}
	}
	return n
}

// A frame is one way in which the log's distances stand to the track's.
type frame struct {
	scale float64
	zero  distance.Metres
	log   float64 // logarithm of how likely it is beforehand
}

func frames() []frame {
	all := []frame{{1, 0, math.Log(1 - otherScale - otherZero)}}
	for _, s := range otherScales {
		all = append(all, frame{1 + s, 0, math.Log(otherScale / float64(len(otherScales)))})
	}
	for _, z := range otherZeros {
		all = append(all, frame{1, z, math.Log(otherZero / float64(len(otherZeros)))})
	}
	return all
}

// seconds is a moment of the log's clock as package belief counts it.
func (r *resolver) seconds(l timecode.Log) float64 { return (l - r.calendar.first).Seconds() }

// weigh settles what is believed of all rows of the log.
func (r *resolver) weigh() {
	if r.in.Log == nil || len(r.in.Log.Rows) == 0 || len(r.spans) == 0 || r.in.Recording.End <= 0 {
		return
	}
	r.question, r.belief = r.ask(r.t.Clock)
}

// ask asks package belief for all rows, the clock being tied by a fit or by nothing.
func (r *resolver) ask(fit *clock.Fit) (*belief.Question, *belief.Answer) {
	q := &belief.Question{Habits: belief.Habits()}
	if s := r.sheet; slices.Contains(s.Given, "log.lag") || s.Log.Lag != jobsheet.Default().Log.Lag {
		q.Habits = belief.HabitsWithin(s.Log.Lag.Seconds())
	}
	for _, s := range r.spans {
		q.Parts = append(q.Parts, belief.Span{From: s.Start.Seconds(), To: s.End.Seconds()})
	}
	q.Moments = belief.NewMoments(r.in.Recording.End.Seconds(), r.standing())
	r.clockEvidence(q, fit)
	all := frames()
	if r.track == nil || r.withDistance() < fewestToShift {
		all = all[:1]
	}
	if r.track != nil {
		low, high := r.trackRange()
		q.Lengths = float64(high-low) + 5
	}
	for _, f := range all {
		q.Frames = append(q.Frames, f.log)
	}
	unread := r.unread(q)
	last := 0
	for i := range r.in.Log.Rows {
		row := &r.in.Log.Rows[i]
		one := belief.Row{Timed: row.Time != nil, Placed: row.Distance != nil && r.track != nil}
		if row.Aside || r.given(row) {
			one = belief.Row{}
		}
		if one.Timed {
			one.Written, one.Half = r.seconds(row.Time.Log), row.Time.Half.Seconds()
		}
		if one.Placed {
			for _, f := range all {
				one.Pieces = append(one.Pieces, r.pieces(q, row.Distance, f, unread))
			}
			before := r.in.Log.Rows[last].Distance
			one.Repeats = i > 0 && before != nil && (row.Distance.Metres-before.Metres).Abs() <= r.tolerance(row.Distance)
			last = i
		}
		q.Rows = append(q.Rows, one)
	}
	return q, q.Weigh()
}

// given reports whether the row's moment is given: by a person, or by the recording's time.
func (r *resolver) given(row *fieldlog.Row) bool {
	if row.Seen != nil {
		if _, c := r.byPerson(row); c == nil {
			return true
		}
	}
	if row.Video != nil {
		_, c := r.byVideo(row)
		return c == nil
	}
	return false
}

// clockEvidence adds what ties the log's clock: the fit of the anchors, or of the
// start, as lines, and each of them as something that may be wrong.
func (r *resolver) clockEvidence(q *belief.Question, fit *clock.Fit) {
	if fit == nil || !r.calendar.rows {
		return
	}
	q.Whole = !slices.ContainsFunc(fit.Segments, func(s clock.Segment) bool { return !s.Tied })
	q.Lines = func(written float64) (all []belief.Stretch) {
		for _, s := range fit.Stretches(r.calendar.first + timecode.LogSeconds(written)) {
			all = append(all, belief.Stretch{In: belief.Span{From: s.From.Seconds(), To: s.To.Seconds()}, At: s.At})
		}
		return all
	}
	for _, p := range fit.Pauses {
		q.Pauses = append(q.Pauses, belief.Span{From: r.seconds(p.LogFrom), To: r.seconds(p.LogTo)})
	}
	if fit.Basis == clock.Anchors {
		q.Found = !slices.ContainsFunc(r.sheet.Anchors, func(a jobsheet.Anchor) bool { return a.Row == 0 })
		for _, a := range r.tied {
			if !slices.ContainsFunc(fit.SetAside, func(s clock.SetAside) bool { return s.Anchor.Number == a.Number }) {
				q.Anchors = append(q.Anchors, belief.Anchor{Log: r.seconds(a.Log), LogHalf: a.LogHalf.Seconds(),
					Video: a.Video.Seconds(), VideoHalf: a.VideoHalf.Seconds(), Wrong: wrongStart})
			}
		}
		return
	}
	wrong := wrongStart
	if fit.Basis == clock.FileTimes {
		wrong = wrongFiles
	}
	for _, s := range fit.Segments {
		if l, half, ok := fit.Log(s.From); ok && (!s.Weak || fit.Basis == clock.FileTimes) {
			q.Anchors = append(q.Anchors, belief.Anchor{Log: r.seconds(l), LogHalf: half.Seconds(), Video: s.From.Seconds(), Wrong: wrong})
		}
	}
}

// standing are the times at which the camera is known to have stood, in order.
func (r *resolver) standing() (spans []belief.Span) {
	edge := r.edge()
	for _, s := range r.track.Stands() {
		spans = append(spans, belief.Span{From: s.From.Seconds() - edge, To: s.To.Seconds() + edge})
	}
	for _, s := range r.track.Resets() {
		spans = append(spans, r.aroundReset(s))
	}
	if r.track == nil {
		for _, s := range r.in.Stands {
			spans = append(spans, belief.Span{From: s.From.Seconds(), To: s.To.Seconds()})
		}
	}
	slices.SortFunc(spans, func(a, b belief.Span) int { return cmp.Compare(a.From, b.From) })
	return spans
}

// aroundReset is the stand during which the counter was set anew: a hand that resets it
// doesn't push the cable (common practice, no published source), and what was one stand
// shows as two that may each be too short to be found.
func (r *resolver) aroundReset(s distance.Reset) belief.Span {
	const most, every = 5 * time.Second, 100 * time.Millisecond
	reach := func(at timecode.Video, by time.Duration) timecode.Video {
		v := at
		for n := time.Duration(1); n*every <= most; n++ {
			p, q := r.track.At(at), r.track.At(at.Add(n*by))
			if q.State < distance.Filled || (p.Metres-q.Metres).Abs() > r.track.Step()*1.01 {
				break
			}
			v = at.Add(n * by)
		}
		return v
	}
	return belief.Span{From: reach(s.Before, -every).Seconds(), To: reach(s.After, every).Seconds()}
}

func (r *resolver) trackRange() (low, high distance.Metres) {
	rs := r.track.Readings()
	low, high = r.track.Place(0), r.track.Place(0)
	for i := range rs {
		low, high = min(low, r.track.Place(i)), max(high, r.track.Place(i))
	}
	return low, high
}

// An unreadSpan is a stretch in which no reading tells where the camera was: somewhere
// from low to high, or, where edge is set, anywhere.
type unreadSpan struct {
	belief.Span
	low, high distance.Metres
	edge      bool
}

func (r *resolver) unread(q *belief.Question) (all []unreadSpan) {
	rs := r.track.Readings()
	if len(rs) == 0 {
		return nil
	}
	const edge = 2.0 // seconds beyond a reading for which the camera is taken to be there still
	for _, g := range r.track.Gaps() {
		a, b := r.track.At(g[0]).Metres-r.track.Offset(g[0]), r.track.At(g[1]).Metres-r.track.Offset(g[1])
		all = append(all, unreadSpan{Span: belief.Span{From: g[0].Seconds(), To: g[1].Seconds()}, low: min(a, b), high: max(a, b)})
	}
	end := r.in.Recording.End.Seconds()
	if first := rs[0].At.Seconds(); first > edge {
		all = append(all, unreadSpan{Span: belief.Span{To: first}, edge: true})
	}
	if last := rs[len(rs)-1].At.Seconds(); last < end-edge {
		all = append(all, unreadSpan{Span: belief.Span{From: last, To: end}, edge: true})
	}
	return all
}

// pieces is where the track shows a written distance, in one frame: the density of
// moments times that of the distance, in metres.
func (r *resolver) pieces(q *belief.Question, l *distance.Length, f frame, unread []unreadSpan) (all []belief.Piece) {
	d := r.correction.Apply(l.Metres*distance.Metres(f.scale)) + f.zero
	tight := r.tolerance(l)
	loose := tight + looseReach + distance.Metres(looseScale)*d.Abs()
	near := r.passes(d, tight)
	for i, p := range r.passes(d, loose) {
		all = append(all, q.Moments.Within(p, looseShare/float64(2*loose), i)...)
		for _, t := range near {
			if t.From <= p.To && t.To >= p.From {
				all = append(all, q.Moments.Within(t, (1-looseShare)/float64(2*tight), i)...)
			}
		}
	}
	for i, u := range unread {
		density := 1 / q.Lengths
		if !u.edge {
			if d < u.low-unreadGap/2 || d > u.high+unreadGap/2 {
				continue
			}
			density = 1 / (float64(u.high-u.low) + unreadGap)
		}
		all = append(all, q.Moments.Within(u.Span, density, -1-i)...)
	}
	return all
}

// passes are when the readings show a distance.
func (r *resolver) passes(d, tolerance distance.Metres) (all []belief.Span) {
	key := [2]distance.Metres{d, tolerance}
	if known, ok := r.passed[key]; ok {
		return known
	}
	defer func() { r.passed[key] = all }()
	edge := r.edge()
	for p := range r.track.Passes(d, tolerance, 0, r.in.Recording.End) {
		if !p.About {
			all = append(all, belief.Span{From: p.From.Seconds() - edge, To: p.To.Seconds() + edge})
		}
	}
	return all
}

// edge is how many seconds earlier or later than its readings tell the camera may have
// come to a place: what happened between two of them isn't known, and a display lags.
func (r *resolver) edge() float64 {
	const lag = 0.1 // common practice, no published source
	return min(r.track.Spacing().Seconds(), 5)/2 + lag
}

// tolerance is how far the track may be from a written distance and still show
// it: half the last digit of both, and a finger's breadth.
func (r *resolver) tolerance(l *distance.Length) distance.Metres {
	return l.Step/2 + r.track.Step()/2 + 0.01
}

// shown reports whether the track shows a row's distance at all, as it is written.
func (r *resolver) everShown(row *fieldlog.Row) bool {
	for range r.track.Passes(r.correction.Apply(row.Distance.Metres), r.tolerance(row.Distance), 0, r.in.Recording.End) {
		return true
	}
	return false
}

// late is how late the log was written on the whole; nil where its rows tell too little.
func (r *resolver) late() *time.Duration {
	const least = 0.9 // of the belief, that it is within a factor of two
	if r.track == nil || r.belief == nil || r.withDistance() < fewestToShift || len(r.belief.Habits) != len(r.question.Habits) {
		return nil
	}
	var mean float64
	for i, h := range r.question.Habits {
		mean += r.belief.Habits[i] * h.Late
	}
	var near float64
	for i, h := range r.question.Habits {
		if h.Late >= mean/2-1 && h.Late <= 2*mean+1 {
			near += r.belief.Habits[i]
		}
	}
	if near < least {
		return nil
	}
	late := time.Duration(mean * float64(time.Second)).Round(time.Second)
	if late < 2*time.Second { // within what reading a clock takes
		late = 0
	}
	return &late
}
