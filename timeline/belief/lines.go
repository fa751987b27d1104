package belief

import "math"

// mostNodes are the nodes at which a row's likelihood is worked out between its
// earliest and its latest line; between them it is taken as straight.
const (
	mostNodes = 96
	nodeStep  = 0.2 // seconds
)

// lined is one way in which the clock may run: a frame, a habit and a line.
type lined struct{ frame, habit, line int }

// byLines weighs the lines that anchors leave by the rows, and sets the candidates of
// each row, which sum to weight: all evidence but the row's own.
func (q *Question) byLines(a *Answer, candidates [][]candidate, frames []int, weight float64) {
	var timed []int
	stretches := map[int][]Stretch{}
	lines := 0
	for i := range q.Rows {
		if q.Rows[i].Timed {
			if s := q.Lines(q.Rows[i].Written); len(s) > 0 {
				timed, stretches[i] = append(timed, i), s
				lines = len(s[0].At)
			}
		}
	}
	a.Frames, a.Habits = make([]float64, len(q.Frames)), make([]float64, len(q.Habits))
	var ways []lined
	var logs []float64
	own := make([][]float64, len(timed)) // likelihood of each row, by way
	for _, f := range frames {
		for h := range q.Habits {
			first := len(logs)
			for k := range lines {
				ways = append(ways, lined{f, h, k})
				logs = append(logs, q.Frames[f]+math.Log(q.Habits[h].Share/float64(lines)))
			}
			for n, i := range timed {
				likes := q.lineLikes(i, f, h, stretches[i], lines)
				own[n] = append(own[n], likes...)
				if !q.Rows[i].Repeats {
					for k, l := range likes {
						logs[first+k] += math.Log(l)
					}
				}
			}
		}
	}
	if len(ways) == 0 {
		a.Frames[0] = 1
		for i, h := range q.Habits {
			a.Habits[i] = h.Share
		}
		return
	}
	all := shares(logs)
	for w, s := range all {
		a.Frames[ways[w].frame] += s
		a.Habits[ways[w].habit] += s
	}
	for n, i := range timed {
		without := make([]float64, len(all))
		var whole float64
		for w, s := range all {
			without[w] = s
			if !q.Rows[i].Repeats {
				without[w] /= own[n][w]
			}
			whole += without[w]
		}
		for w, s := range without {
			if s/whole < 1e-7 {
				continue
			}
			way := ways[w]
			for _, st := range stretches[i] {
				x := st.At[way.line] + q.found(way.line, lines, way.habit)
				candidates[i] = append(candidates[i], candidate{way.habit, way.frame, st.In, x, weight * s / whole})
			}
		}
	}
}

// lineLikes are the likelihoods of row i by line.
func (q *Question) lineLikes(i, frame, habit int, stretches []Stretch, lines int) []float64 {
	r := &q.Rows[i]
	l := q.law(habit, r.Half)
	d := q.densityOf(r, frame)
	likes := make([]float64, lines)
	for k := range likes {
		likes[k] = d.nowhere()
	}
	for _, st := range stretches {
		low, high := math.Inf(1), math.Inf(-1)
		xs := make([]float64, lines)
		for k := range xs {
			xs[k] = st.At[k] + q.found(k, lines, habit)
			low, high = min(low, xs[k]), max(high, xs[k])
		}
		early, late := l.reach()
		if high-early < st.In.From || low-late > st.In.To {
			continue
		}
		nodes := min(mostNodes, 2+int((high-low)/nodeStep))
		step := max(1e-9, (high-low)/float64(nodes-1))
		at := make([]float64, nodes)
		for n := range at {
			at[n] = d.at(r, l, low+float64(n)*step, st.In)
		}
		for k, x := range xs {
			n := min(nodes-2, int((x-low)/step))
			share := min(1, max(0, (x-low)/step-float64(n)))
			likes[k] += at[n]*(1-share) + at[n+1]*share
		}
	}
	return likes
}

// found is how much later than by line k a row was written, where anchors are rows that
// somebody found again: every second line takes them to be when they were seen.
func (q *Question) found(k, lines, habit int) float64 {
	if !q.Found || k%2 == 0 {
		return 0
	}
	return q.Habits[habit].quantile((float64(k) + 0.5) / float64(lines))
}
