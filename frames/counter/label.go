package counter

import (
	"math"
	"math/rand/v2"
)

// A labelling is looked for that makes the counter run as a cable does. Likeness
// to known fonts is a hint: a 0 with a stroke through it is much like an 8. But a
// counter goes 7, 8, 9, 0, and carries on to the next place: a wrong label makes
// it jump. All signs are labelled at once, since one wrong label forces another.
type labeller struct {
	like   [][10]float64 // of each sign to each digit
	share  [][]float64   // what it costs, in nats, that two signs are one digit
	run    *run
	values []float64
	digits []int8
	scale  float64 // steps of the last place in a unit shown

	ticking bool // six digits of a time of day, in place of a length
}

const (
	fontWeight = 30.0 // nats that a likeness of 1 is worth
	strideCap  = 8.0
	bendCap    = 5.0
	evidence   = 0.6 // of what strides say: they aren't independent
)

// cost is what labels fail to explain, in nats.
func (l *labeller) cost() float64 {
	sum := 0.0
	for i, d := range l.digits {
		sum += fontWeight * (1 - l.like[i][d])
		other := math.Inf(1) // groups come by size: what makes it a kind of a larger one's digit
		for j := range i {
			if l.digits[j] == d {
				other = min(other, l.share[i][j])
			}
		}
		if !math.IsInf(other, 1) {
			sum += other
		}
	}
	return sum + evidence*l.strides()
}

func (l *labeller) strides() float64 {
	for t := range l.run.tuples {
		tuple := &l.run.tuples[t]
		v := 0.0
		for _, n := range tuple.signs {
			v = 10*v + float64(l.digits[n])
		}
		if tuple.below {
			v = -v
		}
		if l.ticking {
			v = seconds(v)
		}
		l.values[t] = v
	}
	sum := 0.0
	for _, s := range l.run.steps {
		d := l.values[s.to] - l.values[s.from]
		if l.ticking {
			sum += float64(s.n) * min(math.Abs(d-float64(s.dt)), strideCap)
			continue
		}
		c := min(math.Abs(d)/(1+0.5*float64(s.dt)*l.scale), strideCap)
		if s.then >= 0 {
			bend := l.values[s.then] - l.values[s.to] - d
			c += min(math.Abs(bend)/(2+0.5*float64(s.dt)*l.scale), bendCap)
		}
		sum += float64(s.n) * c
	}
	return sum
}

// seconds turns a time of day written as one number, 93015, into seconds.
func seconds(v float64) float64 {
	h, m := math.Floor(v/10000), math.Floor(math.Mod(v, 10000)/100)
	return 3600*h + 60*m + math.Mod(v, 100)
}

func newLabeller(groups []group, run *run, scale, alike float64) *labeller {
	l := &labeller{run: run, scale: scale, digits: make([]int8, len(groups)), values: make([]float64, len(run.tuples))}
	most := 0
	for _, t := range run.tuples {
		most = max(most, len(t.signs))
	}
	seen := make([][]float64, len(groups)) // how often by place, counted from the right
	for i, g := range groups {
		l.like = append(l.like, g.like)
		seen[i] = make([]float64, most)
	}
	for _, t := range run.tuples {
		for k, n := range t.signs {
			seen[n][len(t.signs)-1-k] += t.seen
		}
	}
	for i := range groups {
		l.share = append(l.share, make([]float64, len(groups)))
		for j := range i {
			together := 0.0
			for k := range most {
				together += min(seen[i][k], seen[j][k])
			}
			unlike := min(max(alike-correlation(&groups[i].mean, &groups[j].mean), 0)/0.2, 1)
			l.share[i][j] = unlike * (8 + min(0.5*together, 20))
		}
	}
	return l
}

// label finds the digits of all signs; -1 for one that could about as well be
// another digit.
func (l *labeller) label() []int8 {
	if len(l.digits) == 0 {
		return nil
	}
	best, least := l.byFont(), math.Inf(1)
	first := best
	random := rand.New(rand.NewPCG(1, 2)) // the same pictures give the same readings
	for try := range 6 {
		copy(l.digits, first)
		if try > 0 {
			l.shake(random, try)
		}
		if c := l.improve(l.cost(), random); c < least {
			best, least = append([]int8(nil), l.digits...), c
		}
	}
	copy(l.digits, best)
	for i, sure := range l.sureness(least) {
		if sure < sureLabel {
			best[i] = -1
		}
	}
	return best
}

// byFont gives each sign what it is most like.
func (l *labeller) byFont() []int8 {
	digits := make([]int8, len(l.like))
	for i := range l.like {
		digits[i] = int8(best(l.like[i]))
	}
	return digits
}

// shake swaps some labels.
func (l *labeller) shake(random *rand.Rand, times int) {
	for range 3 * times {
		i, j := random.IntN(len(l.digits)), random.IntN(len(l.digits))
		l.digits[i], l.digits[j] = l.digits[j], l.digits[i]
	}
}

// improve anneals, then goes downhill to the end.
func (l *labeller) improve(cost float64, random *rand.Rand) float64 {
	kept := append([]int8(nil), l.digits...)
	was := append([]int8(nil), l.digits...)
	least := cost
	const moves = 6000
	for k := range moves {
		heat := 40 * math.Pow(0.01, float64(k)/moves)
		copy(was, l.digits)
		l.move(random)
		c := l.cost()
		if c >= cost && random.Float64() >= math.Exp((cost-c)/heat) {
			copy(l.digits, was)
			continue
		}
		cost = c
		if c < least {
			least = c
			copy(kept, l.digits)
		}
	}
	copy(l.digits, kept)
	return l.downhill(least)
}

// move changes labels at random: that of one sign, or the digits of all at once by
// exchanging two, by taking one out and putting it in elsewhere, or by turning some
// neighbours round, since digits are first of all an order.
func (l *labeller) move(random *rand.Rand) {
	a, b := int8(random.IntN(10)), int8(random.IntN(10))
	change := func(to func(d int8) int8) {
		for i, d := range l.digits {
			l.digits[i] = to(d)
		}
	}
	switch random.IntN(5) {
	case 0, 1:
		l.digits[random.IntN(len(l.digits))] = a
	case 2:
		change(func(d int8) int8 {
			switch d {
			case a:
				return b
			case b:
				return a
			}
			return d
		})
	case 3:
		change(func(d int8) int8 {
			switch {
			case d == a:
				return b
			case a < d && d <= b:
				return d - 1
			case b <= d && d < a:
				return d + 1
			}
			return d
		})
	default:
		from, to := min(a, b), max(a, b)
		change(func(d int8) int8 {
			if d < from || d > to {
				return d
			}
			return from + to - d
		})
	}
}

// downhill changes and swaps labels as long as that helps.
func (l *labeller) downhill(cost float64) float64 {
	for again := true; again; {
		again = false
		l.neighbours(func() bool {
			if c := l.cost(); c < cost-1e-6 {
				cost, again = c, true
				return true
			}
			return false
		})
	}
	return cost
}

// neighbours makes every change of one label and every swap, and keeps those that
// are said to be kept.
func (l *labeller) neighbours(keep func() bool) {
	for i := range l.digits {
		for d := range int8(10) {
			was := l.digits[i]
			if d == was {
				continue
			}
			if l.digits[i] = d; !keep() {
				l.digits[i] = was
			}
		}
		for j := range i {
			if l.digits[i] == l.digits[j] {
				continue
			}
			if l.swap(i, j); !keep() {
				l.swap(i, j)
			}
		}
	}
}

// sureness is how many nats worse it gets when a sign is labelled otherwise.
func (l *labeller) sureness(least float64) []float64 {
	best := append([]int8(nil), l.digits...)
	sure := make([]float64, len(best))
	for i := range sure {
		sure[i] = math.Inf(1)
	}
	l.neighbours(func() bool {
		c := l.cost() - least
		for i := range best {
			if best[i] != l.digits[i] {
				sure[i] = min(sure[i], c)
			}
		}
		return false
	})
	return sure
}

func (l *labeller) swap(i, j int) { l.digits[i], l.digits[j] = l.digits[j], l.digits[i] }
