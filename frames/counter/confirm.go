package counter

import "math"

// Labels are believed that explain the recording better, by so many nats, than
// any other would.
const (
	sureLabel  = 3.0
	sureLabels = 10.0
)

// confirm tells how sure each label is, by the whole run and by likeness, and
// whether they are as a whole: turned round or mirrored, digits count about as well.
func (r *reader) confirm(run *run) {
	l := &labeller{run: run, scale: math.Pow10(r.grid.decimals), values: make([]float64, len(run.tuples))}
	for i := range r.signs {
		s := &r.signs[i]
		l.digits = append(l.digits, int8(s.digit))
		l.like = append(l.like, s.like)
		l.share = append(l.share, make([]float64, len(r.signs)))
		for j := range i {
			l.share[i][j] = 8 // signs are one digit each by now
		}
	}
	best := append([]int8(nil), l.digits...)
	least := l.cost()
	r.confirmed = !run.skips(best)
	for i, sure := range l.sureness(least) {
		r.signs[i].sure = sure
		r.confirmed = r.confirmed && sure > -sureLabels // else the run is explained better by another
	}
	for turn := range int8(10) {
		for _, mirrored := range []bool{false, true} {
			if turn == 0 && !mirrored {
				continue
			}
			for i, d := range best {
				if mirrored {
					d = 9 - d
				}
				l.digits[i] = (d + turn) % 10
			}
			r.confirmed = r.confirmed && l.cost()-least > sureLabels
		}
	}
}

// skips tells whether the last place goes from one digit to the next but one, time
// and again: the one between has not been made out, and what shows it is misread.
func (w *run) skips(digits []int8) bool {
	const often = 2
	last := func(t int32) int8 { s := w.tuples[t].signs; return digits[s[len(s)-1]] }
	var seen, over [10]float64
	for t := range w.tuples {
		seen[last(int32(t))] += w.tuples[t].seen
	}
	for _, s := range w.steps {
		a, b := last(s.from), last(s.to)
		switch (b - a + 10) % 10 {
		case 2:
			over[(a+1)%10] += float64(s.n)
		case 8:
			over[(b+1)%10] += float64(s.n)
		}
	}
	for d := range 10 {
		if seen[d] == 0 && over[d] >= often {
			return true
		}
	}
	return false
}
