package belief

import (
	"cmp"
	"maps"
	"math"
	"slices"
)

// Weigh answers the question.
func (q *Question) Weigh() *Answer {
	if len(q.Frames) == 0 {
		q.Frames = []float64{0}
	}
	a := &Answer{Rows: make([]Place, len(q.Rows)), Wrong: make([]float64, len(q.Anchors)), Trust: 1}
	candidates := make([][]candidate, len(q.Rows))
	q.span()
	q.mixed = mixed(q.Habits)
	switch telling := q.telling(); {
	case len(telling) == 0, q.Lines == nil && !q.Rows[telling[0]].Placed && !q.Moments.stood:
		a.Frames, a.Habits = q.framesAlone(), make([]float64, len(q.Habits))
		for i, h := range q.Habits {
			a.Habits[i] = h.Share
		}
	case q.Lines != nil && !slices.ContainsFunc(q.Rows, func(r Row) bool { return r.Timed && r.Placed }):
		q.byLines(a, candidates, []int{0}, 1) // nothing holds the anchors against the recording
	default:
		q.byChain(a, candidates)
	}
	for i := range q.Rows {
		if r := &q.Rows[i]; r.Timed || r.Placed {
			a.Rows[i] = q.place(r, candidates[i], a.Frames)
		}
	}
	q.order(a.Rows)
	return a
}

// span sets the window among whose seconds a wrong time may be.
func (q *Question) span() {
	first, last := math.Inf(1), math.Inf(-1)
	for _, r := range q.Rows {
		if r.Timed {
			first, last = min(first, r.Written), max(last, r.Written)
		}
	}
	q.window = q.Moments.whole + 600
	if last > first {
		q.window += last - first
	}
}

// framesAlone are the shares of the frames by where the distances are shown alone.
func (q *Question) framesAlone() []float64 {
	logs := slices.Clone(q.Frames)
	for i := range q.Rows {
		for f := range logs {
			if r := &q.Rows[i]; r.Placed && !r.Repeats {
				d := q.densityOf(r, f)
				logs[f] += math.Log(d.total)
			}
		}
	}
	return shares(logs)
}

// byChain weighs the clock by the chain; where anchors hold, their finer lines are used.
func (q *Question) byChain(a *Answer, candidates [][]candidate) {
	cells, frames := q.search()
	if len(cells) == 0 {
		a.Frames, a.Habits = q.framesAlone(), make([]float64, len(q.Habits))
		return
	}
	var timed []int
	for i := range q.Rows {
		if q.Rows[i].Timed {
			timed = append(timed, i)
		}
	}
	events := q.events(timed)
	w := q.weigh(cells, frames, events, false)
	if q.Lines != nil {
		a.Trust = q.trust(w, cells, frames, events)
	}
	lines := q.Lines != nil && q.Whole && a.Trust > 0.9
	if lines {
		q.byLines(a, candidates, frames, a.Trust)
	}
	if lines && a.Trust > 0.9999 {
		return
	}
	q.gather(a, w, candidates, lines)
}

// trust is how likely the anchors hold and no pause but theirs was made.
func (q *Question) trust(w weighed, cells []cell, frames []int, events []event) float64 {
	hold := q.weigh(cells, frames, events, true)
	prior := math.Log(1 - pauseShare)
	for _, a := range q.Anchors {
		prior += math.Log(1 - a.Wrong)
	}
	return math.Exp(min(0, hold.log+prior-w.log))
}

// gather takes the rows' candidates from the chain, and what is told of the clock.
func (q *Question) gather(a *Answer, w weighed, candidates [][]candidate, lines bool) {
	factor := 1.0
	if lines {
		factor = 1 - a.Trust
	} else {
		a.Frames, a.Habits = make([]float64, len(q.Frames)), make([]float64, len(q.Habits))
		for n, r := range w.runs {
			a.Frames[r.frame] += w.shares[n]
			a.Habits[r.habit] += w.shares[n]
		}
	}
	found := make([]map[int]float64, len(w.events)) // by event: how likely each cell is
	at := map[event]int{}
	for i, e := range w.events {
		at[e], found[i] = i, map[int]float64{}
	}
	q.each(w, func(n int, e event, shares, like []float64) {
		var all, right float64
		for i, s := range shares {
			all += s * like[i]
		}
		if e.anchor >= 0 {
			wrong := q.Anchors[e.anchor].Wrong / q.window
			for i, s := range shares {
				right += s * (like[i] - wrong)
			}
			a.Wrong[e.anchor] += w.shares[n] * (1 - right/all)
			return
		}
		run, r := w.runs[n], &q.Rows[e.row]
		for i, s := range shares {
			c := w.chain.cells[i]
			if s*w.shares[n] > 1e-6 {
				candidates[e.row] = append(candidates[e.row], candidate{run.habit, run.frame, q.Parts[c.part], r.Written - c.ahead, factor * w.shares[n] * s})
			}
			if own := s * like[i] / all * w.shares[n]; own > 1e-6 {
				found[at[e]][i] += own
			}
		}
	})
	a.Clock = make([]Tied, len(q.Parts))
	for i, e := range w.events {
		if e.row >= 0 {
			a.tell(w.chain.cells, found[i], q.Rows[e.row].Written)
		}
	}
}

// tell adds what is known of the clock at an event to the parts in which it may lie.
func (a *Answer) tell(cells []cell, found map[int]float64, written float64) {
	for p := range a.Clock {
		t := &a.Clock[p]
		var d Offsets
		var whole float64
		for _, i := range slices.Sorted(maps.Keys(found)) {
			if cells[i].part == p {
				d = append(d, Offset{cells[i].ahead, found[i]})
				whole += found[i]
			}
		}
		t.All = append(t.All, d...)
		if whole <= 0.5 {
			continue
		}
		if len(t.First) == 0 {
			t.First, t.From = d, written
		}
		t.Last, t.To = d, written
	}
}

// An Offset is how far the log's clock may be ahead, and how likely.
type Offset struct{ Ahead, Share float64 }

// Offsets are all that are likely, the shares of which need not sum to 1.
type Offsets []Offset

// Quantiles are n offsets between which equal shares lie.
func (o Offsets) Quantiles(n int) []float64 {
	sorted := slices.SortedFunc(slices.Values(o), func(a, b Offset) int { return cmp.Compare(a.Ahead, b.Ahead) })
	var whole, below float64
	for _, one := range sorted {
		whole += one.Share
	}
	out := make([]float64, 0, n)
	for _, one := range sorted {
		for below+one.Share >= whole*(float64(len(out))+0.5)/float64(n) && len(out) < n {
			within := (whole*(float64(len(out))+0.5)/float64(n)-below)/one.Share - 0.5
			out = append(out, one.Ahead+within*gridStep)
		}
		below += one.Share
	}
	for len(sorted) > 0 && len(out) < n {
		out = append(out, sorted[len(sorted)-1].Ahead)
	}
	return out
}

// Within is the share of the offsets that lie at most half from at.
func (o Offsets) Within(at, half float64) float64 {
	var near, whole float64
	for _, one := range o {
		whole += one.Share
		if math.Abs(one.Ahead-at) <= half {
			near += one.Share
		}
	}
	return near / max(whole, 1e-300)
}
