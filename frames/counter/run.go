package counter

import "pushcue/timeline/timecode"

// A run is how the counter went, in signs: what labels are judged by.
type run struct {
	tuples []tuple // different ways that the places were filled
	steps  []stride
}

// A tuple is signs from the left.
type tuple struct {
	signs []int8
	below bool    // with a minus
	seen  float64 // how often
}

// A stride goes from one tuple to the next, and on to the one after it.
type stride struct {
	from, to, then int32 // then is -1 where there is none
	dt             float32
	n              float32 // how often
}

const (
	longestStride = 1.2  // seconds; longer ones say too little
	mostStrides   = 2500 // different ones; more say nothing new
)

// runOf strings the clear sights together.
func runOf(when func(int) timecode.Video, sights []sight) *run {
	w := &run{}
	numbers, strides := map[string]int32{}, map[stride]int{}
	at := func(a, b int) float64 { return when(b).Sub(when(a)).Seconds() }
	var last []int // the clear sights' places among all
	var ways []int32
	for i := range sights {
		if !sights[i].clear() {
			continue
		}
		last, ways = append(last, i), append(ways, w.number(&sights[i], numbers))
		n := len(last)
		if n < 2 || at(last[n-2], i) > longestStride {
			continue
		}
		s := stride{from: ways[n-2], to: ways[n-1], then: -1}
		dt := at(last[n-2], i)
		if n > 2 && at(last[n-3], last[n-2]) < 1.5*dt+0.05 {
			dt = at(last[n-3], last[n-2])
			s = stride{from: ways[n-3], to: ways[n-2], then: ways[n-1]}
		}
		s.dt = float32(int(dt*20)) / 20
		p, known := strides[s]
		if !known && len(w.steps) >= mostStrides {
			continue
		}
		if !known {
			p = len(w.steps)
			strides[s] = p
			w.steps = append(w.steps, s)
		}
		w.steps[p].n++
	}
	return w
}

// number is that of a sight's tuple.
func (w *run) number(s *sight, numbers map[string]int32) int32 {
	key := make([]byte, len(s.signs)+1)
	for k, n := range s.signs {
		key[k+1] = byte(n)
	}
	if s.negative {
		key[0] = 1
	}
	n, known := numbers[string(key)]
	if !known {
		n = int32(len(w.tuples))
		numbers[string(key)] = n
		w.tuples = append(w.tuples, tuple{signs: s.signs, below: s.negative})
	}
	w.tuples[n].seen++
	return n
}
