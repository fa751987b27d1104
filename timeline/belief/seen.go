package belief

import (
	"cmp"
	"math"
	"slices"
	"sort"
)

// A Span is a stretch of the recording, in seconds.
type Span struct{ From, To float64 }

// Moments are how likely each moment of a recording is to be one at which something
// was noted, before the log is read: a density that is even within pieces.
type Moments struct {
	pieces []Piece
	whole  float64 // length
	stood  bool    // the camera is known to have stood
}

// A Piece is a stretch over which a density is even.
type Piece struct {
	Span
	Mass  float64 // of the density over all of it
	Place int     // which place it belongs to; pieces of one pass have the same
	Stand bool
}

// What is noted is most often looked at while the camera stands (common practice, no
// published source): a stand holds a mass that grows by the square root of its length,
// between "each stand alike" and "each second alike"; a second of moving counts as
// movingShare of that of a stand of four seconds.
const (
	movingShare  = 0.15
	typicalStand = 4.0 // seconds
)

// NewMoments are those of a recording of which it is known when the camera stood.
func NewMoments(end float64, stands []Span) Moments {
	m := Moments{whole: end, stood: len(stands) > 0}
	at := 0.0
	moving := func(to float64) {
		if to > at {
			m.pieces = append(m.pieces, Piece{Span: Span{at, to}, Mass: movingShare * (to - at)})
		}
		at = max(at, to)
	}
	for _, s := range stands {
		from, to := max(s.From, at), min(s.To, end)
		if to <= from {
			continue
		}
		moving(from)
		m.pieces = append(m.pieces, Piece{Span: Span{from, to}, Mass: math.Sqrt((to - from) * typicalStand), Stand: true})
		at = to
	}
	moving(end)
	var sum float64
	for _, p := range m.pieces {
		sum += p.Mass
	}
	for i := range m.pieces {
		m.pieces[i].Mass /= sum
	}
	return m
}

// Within are the pieces of the density between two moments, cut to them, their mass
// multiplied by a factor.
func (m Moments) Within(s Span, factor float64, place int) (out []Piece) {
	const least = 0.1 // a moment is a frame, and a reading's time is known no better
	if s.To-s.From < least {
		middle := (s.From + s.To) / 2
		s = Span{middle - least/2, middle + least/2}
	}
	first := sort.Search(len(m.pieces), func(i int) bool { return m.pieces[i].To > s.From })
	for _, p := range m.pieces[first:] {
		if p.From >= s.To {
			break
		}
		cut := Piece{Span: Span{max(p.From, s.From), min(p.To, s.To)}, Place: place, Stand: p.Stand}
		if length := p.To - p.From; length > 0 && cut.To > cut.From {
			cut.Mass = factor * p.Mass * (cut.To - cut.From) / length
			out = append(out, cut)
		}
	}
	return out
}

// A Row is what the log says of one observation.
type Row struct {
	Timed   bool
	Written float64   // log clock, seconds: the middle of what was written
	Half    float64   // half of its resolution
	Pieces  [][]Piece // by frame: where its distance is shown; the density of the moment times that of the distance
	Placed  bool      // it has a distance
	Repeats bool      // the row before it says the same: it tells nothing new of the clock
}

// settings of a row's likelihood (common practice, no published source).
const (
	typoShare  = 0.03 // of distances are slips of the pen, and may be any
	astray     = 0.01 // of times are wrong by anything
	unrecorded = 0.02 // of rows are of what wasn't recorded
)

// density is what a row says of the moment: pieces of its distance, of a slip of the
// pen, and all of them by a time that is wrong.
type density struct {
	pieces []Piece // sorted by From
	any    float64 // density of a moment anywhere for a distance that is a slip; 0 without a distance
	lost   float64 // likelihood of a row that the recording doesn't show
	astray float64 // factor of the pieces where the time is wrong
	total  float64 // mass of the pieces and of any
}

// densityOf a row in a frame. lengths is how many metres a distance may be of.
func (q *Question) densityOf(r *Row, frame int) density {
	var d density
	if !r.Placed {
		d.pieces = q.Moments.pieces
		d.total, d.lost = 1, (unrecorded+astray)/q.window // a time that is wrong tells nothing of it
		return d
	}
	d.pieces = slices.Clone(r.Pieces[frame])
	for i := range d.pieces {
		d.pieces[i].Mass *= 1 - typoShare
		d.total += d.pieces[i].Mass
	}
	slices.SortFunc(d.pieces, func(a, b Piece) int { return cmp.Compare(a.From, b.From) })
	d.any = typoShare / q.Lengths / q.Moments.whole
	d.total += typoShare / q.Lengths
	d.lost, d.astray = unrecorded/q.window/q.Lengths, astray/q.window
	return d
}

// at is the likelihood of a row that was written at x on the recording's time, where
// what lies in a stretch is filmed there.
func (d *density) at(r *Row, l *law, x float64, in Span) (sum float64) {
	early, late := l.reach()
	from, to := max(in.From, x-late), min(in.To, x-early)
	if from >= to {
		return 0
	}
	sum = d.any * (l.by(x-from) - l.by(x-to))
	first := 0
	if !r.Placed { // its pieces follow each other
		first = sort.Search(len(d.pieces), func(i int) bool { return d.pieces[i].To > from })
	}
	for _, p := range d.pieces[first:] {
		if p.From >= to {
			break
		}
		a, b := max(p.From, from), min(p.To, to)
		if b > a {
			sum += p.Mass / (p.To - p.From) * (l.by(x-a) - l.by(x-b))
		}
	}
	return sum
}

// law is a habit's law for a row's resolution, made once.
func (q *Question) law(habit int, half float64) *law {
	key := lawKey{habit, half}
	if q.laws[key] == nil {
		if q.laws == nil {
			q.laws = map[lawKey]*law{}
		}
		h := &q.mixed
		if habit >= 0 {
			h = &q.Habits[habit]
		}
		q.laws[key] = h.written(half)
	}
	return q.laws[key]
}

// unknownHabit stands for a writer of whom nothing is known.
const unknownHabit = -1

type lawKey struct {
	habit int
	half  float64
}

// nowhere is the likelihood of a row whose time tells nothing.
func (d *density) nowhere() float64 { return d.lost + d.astray*d.total }
