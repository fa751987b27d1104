package belief

import (
	"math"
	"slices"
)

// How likely a pause inside a recording is, how a clock may wander against the
// recording, and the grids (common practice, no published source). Two quartz clocks
// differ by less than 0.2 s in half an hour; a recorder that drops frames by seconds.
const (
	pauseShare   = 0.06 // of recordings
	searchStep   = 1.0  // seconds
	gridStep     = 0.5
	mostSearched = 60 // rows: more tell nothing new of where to look
	mostCells    = 4000
	mostFine     = 500  // cells reached: of more, the clock is so little known that finer ones tell nothing
	frameOdds    = 9.0  // nats by which a frame may be worse than the best and be kept
	unlikely     = 1e-6 // share of belief that isn't looked into
	rareRun      = 2e-3
	rareHabit    = 0.03 // share of one that isn't tried with a clock that wanders far
)

var wanders = []struct{ variance, share float64 }{{2e-5, 0.7}, {3e-4, 0.2}, {3e-3, 0.1}}

// An event is a row or an anchor on the log's clock.
type event struct {
	row, anchor int // −1: it is none
	at          float64
}

// events are the timed rows and the anchors in the order of the log's clock.
func (q *Question) events(rows []int) []event {
	var all []event
	for _, i := range rows {
		all = append(all, event{i, -1, q.Rows[i].Written})
	}
	for i, a := range q.Anchors {
		all = append(all, event{-1, i, a.Log})
	}
	slices.SortStableFunc(all, func(a, b event) int {
		switch {
		case a.at < b.at:
			return -1
		case a.at > b.at:
			return 1
		}
		return 0
	})
	return all
}

// A run is a chain under one frame, one way of wandering and one habit.
type run struct {
	frame, habit int
	variance     float64
	log          float64 // logarithm of its share beforehand, then of its evidence too
}

// filler makes the likelihoods of events in a run.
func (q *Question) filler(c *chain, events []event, frame, habit int, long float64, anchorsHold bool) func(int) []float64 {
	buffer := make([]float64, len(c.cells))
	densities := make([]density, len(events))
	for i, e := range events {
		if e.row >= 0 {
			densities[i] = q.densityOf(&q.Rows[e.row], frame)
		}
	}
	return func(i int) []float64 {
		switch e := events[i]; {
		case e.anchor >= 0:
			wrong := q.Anchors[e.anchor].Wrong
			if anchorsHold {
				wrong = 0
			}
			c.fillAnchor(buffer, q.Anchors[e.anchor], q, habit, wrong)
		case q.Rows[e.row].Repeats:
			for k := range buffer {
				buffer[k] = 1
			}
		default:
			c.fill(buffer, &q.Rows[e.row], &densities[i], q.law(habit, q.Rows[e.row].Half), q.Parts, long)
		}
		return buffer
	}
}

// kept makes the likelihoods of all events once.
func kept(like func(int) []float64, events int) func(int) []float64 {
	all := make([][]float64, events)
	return func(i int) []float64 {
		if all[i] == nil {
			all[i] = slices.Clone(like(i))
		}
		return all[i]
	}
}

// telling are the timed rows that tell of the clock: those with a distance, or where
// none has one all of them.
func (q *Question) telling() (rows []int) {
	for _, placed := range []bool{true, false} {
		for i := range q.Rows {
			if r := &q.Rows[i]; r.Timed && r.Placed == placed && !r.Repeats {
				rows = append(rows, i)
			}
		}
		if len(rows) > 0 {
			break
		}
	}
	return rows
}

// search finds the cells and frames that are worth a closer look.
func (q *Question) search() (cells []cell, frames []int) {
	rows := q.telling()
	if every := 1 + (len(rows)-1)/mostSearched; every > 1 {
		var few []int
		for i := 0; i < len(rows); i += every {
			few = append(few, rows[i])
		}
		rows = few
	}
	events := q.events(rows)
	coarse := q.grid(events, searchStep)
	frames = q.likelyFrames(coarse, events)
	reached := make([]float64, len(coarse.cells))
	for _, f := range frames {
		like := q.filler(coarse, events, f, unknownHabit, longInSearch, false)
		coarse.wander = wanders[len(wanders)-1].variance
		before, evidence := coarse.forward(like)
		if math.IsInf(evidence, -1) {
			continue
		}
		coarse.backward(like, before, func(_ int, shares, own []float64) {
			var sum float64
			for i := range shares {
				sum += shares[i] * own[i]
			}
			for i := range shares {
				reached[i] = max(reached[i], shares[i]*own[i]/sum)
			}
		})
	}
	return closer(coarse, reached), frames
}

// grid is a chain over all cells at which an event may be filmed.
func (q *Question) grid(events []event, step float64) *chain {
	first, last := events[0].at, events[len(events)-1].at
	end := q.Parts[len(q.Parts)-1].To
	low, high := first-end-longInSearch, last+longInSearch
	for (high-low)/step*float64(len(q.Parts)) > 400_000 {
		step *= 2
	}
	var cells []cell
	for p, part := range q.Parts {
		for k := int(math.Floor((first - part.To - longInSearch) / step)); float64(k)*step <= last-part.From+longInSearch; k++ {
			cells = append(cells, cell{p, float64(k) * step, k})
		}
	}
	return q.chainOf(cells, events, step)
}

func (q *Question) chainOf(cells []cell, events []event, step float64) *chain {
	c := newChain(cells, len(q.Parts), step, step/q.window/float64(len(q.Parts)))
	for _, e := range events {
		c.times = append(c.times, e.at)
	}
	c.pauses = pauseShare / max(60, c.times[len(c.times)-1]-c.times[0])
	return c
}

// likelyFrames are the frames under which some offset, the same for all rows, explains
// them nearly as well as in the best.
func (q *Question) likelyFrames(c *chain, events []event) (kept []int) {
	best := make([]float64, len(q.Frames))
	for f := range q.Frames {
		like := q.filler(c, events, f, unknownHabit, longInSearch, false)
		sum := make([]float64, len(c.cells))
		for i := range events {
			for k, l := range like(i) {
				sum[k] += math.Log(l + 1e-300)
			}
		}
		best[f] = slices.Max(sum) + q.Frames[f]
	}
	top := slices.Max(best)
	for f := range best {
		if f == 0 || best[f] > top-frameOdds {
			kept = append(kept, f)
		}
	}
	return kept
}

// closer are the finer cells about those that were reached.
func closer(coarse *chain, reached []float64) (cells []cell) {
	least := unlikely
	for count(reached, least) > mostCells {
		least *= 10
	}
	step := max(gridStep, coarse.step/2)
	if n := count(reached, least); n > mostFine {
		step = coarse.step
	}
	wide := int(2 * coarse.step / step)
	for p := range len(coarse.bounds) - 1 {
		last := math.MinInt
		for i := coarse.bounds[p]; i < coarse.bounds[p+1]; i++ {
			if reached[i] <= least {
				continue
			}
			middle := int(math.Round(coarse.cells[i].ahead / step))
			for k := max(last+1, middle-wide); k <= middle+wide; k++ {
				cells = append(cells, cell{p, float64(k) * step, k})
				last = k
			}
		}
	}
	return cells
}

// count tells how many shares are above least.
func count(shares []float64, least float64) (n int) {
	for _, s := range shares {
		if s > least {
			n++
		}
	}
	return n
}

// weighed is the closer look.
type weighed struct {
	chain  *chain
	events []event
	runs   []run     // those that are kept
	shares []float64 // of each
	log    float64   // logarithm of the evidence of all runs
}

// weigh runs the chain over every frame, way of wandering and habit.
func (q *Question) weigh(cells []cell, frames []int, events []event, hold bool) weighed {
	w := weighed{events: events}
	step := gridStep
	for _, c := range cells {
		if c.n != 0 {
			step = c.ahead / float64(c.n)
		}
	}
	w.chain = q.chainOf(cells, events, step)
	w.chain.known = q.Pauses
	if hold {
		w.chain.pauses = 0
	}
	frames = q.fewer(w.chain, events, frames, hold)
	var logs []float64
	for pass, wander := range wanders {
		var likely []float64
		if pass > 0 {
			likely = shares(logs[:len(frames)*len(q.Habits)])
		}
		for n := range len(frames) * len(q.Habits) {
			f, h := frames[n/len(q.Habits)], n%len(q.Habits)
			if pass > 0 && likely[n] < rareHabit {
				continue
			}
			like := q.filler(w.chain, events, f, h, longInGrid, hold)
			w.chain.wander = wander.variance
			_, evidence := w.chain.forward(like)
			r := run{f, h, wander.variance, q.Frames[f] + math.Log(q.Habits[h].Share*wander.share) + evidence}
			w.runs, logs = append(w.runs, r), append(logs, r.log)
		}
	}
	w.log = logSum(logs)
	w.shares = shares(logs)
	few := w.runs[:0]
	var sum float64
	n := 0
	for i, s := range w.shares {
		if s > rareRun {
			few = append(few, w.runs[i])
			w.shares[n] = s
			sum += s
			n++
		}
	}
	w.runs, w.shares = few, w.shares[:n]
	for i := range w.shares {
		w.shares[i] /= sum
	}
	return w
}

// fewer are the frames that a writer of unknown habit makes likely.
func (q *Question) fewer(c *chain, events []event, frames []int, hold bool) (few []int) {
	if len(frames) == 1 {
		return frames
	}
	c.wander = wanders[0].variance
	var logs []float64
	for _, f := range frames {
		_, evidence := c.forward(q.filler(c, events, f, unknownHabit, longInGrid, hold))
		logs = append(logs, q.Frames[f]+evidence)
	}
	for i, s := range shares(logs) {
		if s > rareRun {
			few = append(few, frames[i])
		}
	}
	return few
}

// each calls visit for every event of every kept run.
func (q *Question) each(w weighed, visit func(run int, e event, shares, own []float64)) {
	for n, r := range w.runs {
		like := kept(q.filler(w.chain, w.events, r.frame, r.habit, longInGrid, false), len(w.events))
		w.chain.wander = r.variance
		before, evidence := w.chain.forward(like)
		if math.IsInf(evidence, -1) {
			continue
		}
		w.chain.backward(like, before, func(i int, shares, own []float64) { visit(n, w.events[i], shares, own) })
	}
}
