package frames

import (
	"slices"
	"time"

	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// A search is one still being looked for.
type search struct {
	want        Want
	exact       int // frame wanted
	first, last int // frames that may be taken, exact among them

	best, kept   *picture // nil until found; kept is the exact one
	bestFit, fit float64  // weighted fitness of best; fitness of kept
}

// search finds the frames that may be taken for w: in the same part, and shown at
// most w.Window before or after.
func (r *Recording) search(w Want) *search {
	s := &search{want: w, exact: r.FrameAt(w.At).Index}
	s.first, s.last = s.exact, s.exact
	part := r.partOf(s.exact)
	at := r.Times[s.exact]
	outside := func(v timecode.Video) bool { return w.Within != nil && (v < w.Within.From || v > w.Within.To) }
	for s.first > part.First && at.Sub(r.Times[s.first-1]) <= w.Window && !outside(r.Times[s.first-1]) {
		s.first--
	}
	for s.last+1 < part.First+part.Count && r.Times[s.last+1].Sub(at) <= w.Window && !outside(r.Times[s.last+1]) {
		s.last++
	}
	return s
}

// A stretch is frames from one to another, both included.
type stretch struct{ from, to int }

// needed are the frames that have to be seen, in order: the windows, and one beyond
// each side to see whether the camera moves.
func (r *Recording) needed(searches []*search) []stretch {
	var all []stretch
	for _, s := range searches {
		n := stretch{s.first, s.last}
		if s.first < s.last {
			part := r.partOf(s.exact)
			n.from = max(part.First, n.from-1)
			n.to = min(part.First+part.Count-1, n.to+1)
		}
		all = append(all, n)
	}
	slices.SortFunc(all, func(a, b stretch) int { return a.from - b.from })
	var joined []stretch
	for _, n := range all {
		if k := len(joined) - 1; k >= 0 && n.from <= joined[k].to+1 {
			joined[k].to = max(joined[k].to, n.to)
		} else {
			joined = append(joined, n)
		}
	}
	return joined
}

func count(stretches []stretch) (n int) {
	for _, s := range stretches {
		n += s.to - s.from + 1
	}
	return n
}

// consider offers a picture that has been judged. keep tells to hold it.
func (s *search) consider(p *picture, at, exact time.Duration) {
	if p.index < s.first || p.index > s.last {
		return
	}
	fit := p.score.fitness()
	if p.index == s.exact {
		s.kept, s.fit = p.keep(), fit
	}
	// Far from the exact moment the camera may look at something else.
	const far = 0.25
	if s.want.Window > 0 {
		fit *= 1 - far*float64((at-exact).Abs())/float64(s.want.Window)
	}
	if s.best == nil || fit > s.bestFit {
		s.best.drop()
		s.best, s.bestFit = p.keep(), fit
	}
}

// clearly is how many times as fit another frame must be to win over the exact one.
const clearly = 1.25

// chosen is the picture to take: the exact one unless clearly beaten.
func (s *search) chosen() *picture {
	if s.best.index != s.exact && s.bestFit > clearly*s.fit {
		return s.best
	}
	return s.kept
}

// why explains in plain sentences what another frame than the exact one has that
// the exact one hasn't.
func (s *search) why(r *Recording) []words.Sentence {
	best := s.chosen()
	if best.index == s.exact {
		return nil
	}
	moved := r.Times[best.index].Sub(r.Times[s.exact])
	a, b := best.score, s.kept.score
	said := []words.Sentence{words.Tell("taken %d frames (%.2f s) later", best.index-s.exact, moved.Seconds())}
	if moved < 0 {
		said = []words.Sentence{words.Tell("taken %d frames (%.2f s) earlier", s.exact-best.index, -moved.Seconds())}
	}
	var reasons []words.Sentence
	if a.sharp > b.sharp*1.1 {
		reasons = append(reasons, words.Tell("sharper (%.0f against %.0f)", a.sharp, b.sharp))
	}
	if b.burnt-a.burnt > 0.02 {
		reasons = append(reasons, words.Tell("less of it without detail (%.0f %% against %.0f %%)", a.burnt*100, b.burnt*100))
	}
	if off(a.mean) < off(b.mean)-0.02 {
		reasons = append(reasons, words.Tell("better exposed (mean brightness %.0f against %.0f of 255)", a.mean, b.mean))
	}
	if a.moved < b.moved*0.8 {
		reasons = append(reasons, words.Tell("the camera stood stiller (change of %.1f against %.1f levels)", a.moved, b.moved))
	}
	if len(reasons) > 0 {
		said = append(said, words.Tell("there it is %s", words.Join(reasons, words.Comma)))
	}
	return said
}
