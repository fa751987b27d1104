package distance

import (
	"math"
	"slices"
	"sort"
)

// A SetAside is one reading, or several in a row, that no cable could have
// reached from the others.
type SetAside struct {
	First, Last Reading
	Count       int
	Jump        Metres // from where the track has the camera at First to what First shows, corrected
	Speed       Metres // a second, that First would have needed from the reading kept before it (or after)
	Rezeroed    bool   // they agree with each other for a while: the counter was set anew, or misread
}

// possible tells which readings a cable could have followed at most fastest a
// second. Readings are cut into runs where one can't follow the one before it;
// of the runs the heaviest chain is kept in which each can follow the last. So
// one bad reading falls out and not its neighbours, and a counter set anew isn't
// bridged by what comes long after it. Readings that nobody is sure of count half.
//
// Two readings fit each other when |Δd| ≤ fastest·Δt. With w = d + fastest·t and
// u = d − fastest·t that is w rising and u falling, which carries over from one to
// the next, so that the chain is found in n·log n. The counter's own step is
// allowed for by counting each reading a little later than it is.
func possible(rs []Reading, places []Metres, fastest, step Metres) []bool {
	w, u := bounds(rs, places, fastest, step)
	runs := cutRuns(rs, places, w, u)
	type event struct {
		run, reading int
		ends         bool
	}
	events := make([]event, 0, 2*len(runs))
	for i, r := range runs {
		events = append(events, event{i, r.first, false}, event{i, r.last, true})
	}
	sort.SliceStable(events, func(a, b int) bool {
		i, j := events[a].reading, events[b].reading
		if w[i] != w[j] {
			return w[i] < w[j]
		}
		return u[i] > u[j]
	})
	falling := ranks(u)
	best := newBestSoFar(len(rs))
	end, most := -1, 0
	for _, e := range events {
		r := &runs[e.run]
		if !e.ends {
			weight, before := best.upTo(falling[r.first])
			r.weight, r.before = r.weight+weight, before
			continue
		}
		best.offer(falling[r.last], r.weight, e.run)
		if r.weight > most {
			end, most = e.run, r.weight
		}
	}
	kept := make([]bool, len(rs))
	for i := end; i >= 0; i = runs[i].before {
		for k := runs[i].first; k <= runs[i].last; k++ {
			kept[k] = true
		}
	}
	return kept
}

func bounds(rs []Reading, places []Metres, fastest, step Metres) (w, u []float64) {
	w, u = make([]float64, len(rs)), make([]float64, len(rs))
	late := 0.0
	for i, r := range rs {
		if i > 0 {
			late += float64(Cable{fastest, step}.Reach(r.Half+rs[i-1].Half) / fastest)
		}
		reach := float64(fastest) * (r.At.Seconds() + late)
		w[i], u[i] = float64(places[i])+reach, float64(places[i])-reach
	}
	return w, u
}

// A run is readings in a row of which each can follow the one before it.
type run struct {
	first, last int
	weight      int // of the best chain that ends with it, once known
	before      int // the run before it in that chain; -1 for none
}

// cutRuns cuts where a reading can't follow the one before it, and round a slip that
// happens to lie near enough to one of its neighbours to pass for a part of it.
func cutRuns(rs []Reading, places []Metres, w, u []float64) []run {
	cut := make([]bool, len(rs)) // before that reading
	for i := 1; i < len(rs); i++ {
		if w[i] >= w[i-1] && u[i] <= u[i-1] {
			continue
		}
		cut[i] = true
		if from, to := slip(rs, places, i); from < to {
			cut[from], cut[to] = true, true
		}
	}
	var runs []run
	for i, r := range rs {
		if i == 0 || cut[i] {
			runs = append(runs, run{first: i})
		}
		last := &runs[len(runs)-1]
		last.last = i
		last.weight += 2
		if r.Unsure {
			last.weight--
		}
	}
	return runs
}

// slip tells which one or two readings at a jump to reading i are to blame for it:
// without them the counter goes on at a usual pace. None: from isn't below to.
func slip(rs []Reading, places []Metres, i int) (from, to int) {
	goesOn := func(a, b int) bool {
		if a < 0 || b >= len(rs) {
			return false
		}
		waited := rs[b].At.Sub(rs[a].At)
		return waited <= slipWithin && (places[b]-places[a]).Abs() <= ofTheSame+Metres(usualPace*waited.Seconds())
	}
	for n := 1; n <= 2; n++ {
		for back := 0; back <= n; back++ {
			if from, to := i-back, i-back+n; goesOn(from-1, to) {
				return from, to
			}
		}
	}
	return 0, 0
}

// ranks numbers values from the largest down, equal ones alike, from 1.
func ranks(u []float64) []int {
	values := slices.Clone(u)
	slices.Sort(values)
	values = slices.Compact(values)
	r := make([]int, len(u))
	for i, x := range u {
		at, _ := slices.BinarySearch(values, x)
		r[i] = len(values) - at
	}
	return r
}

// bestSoFar answers "the heaviest chain that ends at a rank up to r" (a Fenwick tree of maxima).
type bestSoFar struct{ weight, last []int }

func newBestSoFar(n int) *bestSoFar {
	b := &bestSoFar{make([]int, n+1), make([]int, n+1)}
	for i := range b.last {
		b.last[i] = -1
	}
	return b
}

func (b *bestSoFar) upTo(r int) (weight, last int) {
	last = -1
	for ; r > 0; r -= r & -r {
		if b.weight[r] > weight {
			weight, last = b.weight[r], b.last[r]
		}
	}
	return weight, last
}

func (b *bestSoFar) offer(r, weight, last int) {
	for ; r < len(b.weight); r += r & -r {
		if weight > b.weight[r] {
			b.weight[r], b.last[r] = weight, last
		}
	}
}

// tellJumps describes the readings set aside, those in a row together, and marks
// where the counter can't be believed.
func (t *Track) tellJumps(rs []Reading, places []Metres, kept []bool, fastest Metres) []SetAside {
	var aside []SetAside
	previous := -1 // the last reading kept
	for i := 0; i < len(rs); i++ {
		if kept[i] {
			previous = i
			continue
		}
		first := i
		for i+1 < len(rs) && !kept[i+1] {
			i++
		}
		s := SetAside{
			First: rs[first], Last: rs[i], Count: i - first + 1,
			Jump: places[first] - t.curve.at(rs[first].At),
		}
		neighbour := previous
		if neighbour < 0 {
			first, neighbour = i, i+1
		}
		s.Speed = speed(rs[first], rs[neighbour], places[first]-places[neighbour])
		s.Rezeroed = agree(rs[i-s.Count+1:i+1], places[i-s.Count+1:i+1], fastest, t.step)
		if s.Rezeroed {
			t.lost = append(t.lost, span{s.First.At, s.Last.At})
		}
		aside = append(aside, s)
	}
	slices.SortFunc(t.lost, func(a, b span) int { return int(min(max(a.from-b.from, -1), 1)) })
	return aside
}

func speed(a, b Reading, moved Metres) Metres {
	return Metres(math.Abs(float64(moved)) / max(a.At.Sub(b.At).Abs().Seconds(), 1e-3))
}

// agree tells whether readings in a row follow each other as a counter does, for long enough.
func agree(rs []Reading, places []Metres, fastest, step Metres) bool {
	if len(rs) < rezeroedCount || rs[len(rs)-1].At.Sub(rs[0].At) < rezeroedFor {
		return false
	}
	for i := 1; i < len(rs); i++ {
		if (places[i] - places[i-1]).Abs() > (Cable{fastest, step}).Reach(rs[i].At.Sub(rs[i-1].At)) {
			return false
		}
	}
	return true
}
