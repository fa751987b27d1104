package placingset

import (
	"math"
	"slices"

	"pushcue/timeline"
	"pushcue/timeline/distance"
	"pushcue/timeline/timecode"
)

// A push is where the camera was: corners of time (seconds) and place (metres), and
// which of the stretches between them are stands.
type push struct{ v, d []float64 }

func (p push) end() float64 { return p.v[len(p.v)-1] }

func (p push) stands(i int) bool { return p.d[i] == p.d[i+1] }

func (p push) at(v float64) float64 {
	i, found := slices.BinarySearch(p.v, v)
	switch {
	case found || i == 0:
		return p.d[min(i, len(p.d)-1)]
	case i == len(p.v):
		return p.d[i-1]
	}
	return p.d[i-1] + (p.d[i]-p.d[i-1])*(v-p.v[i-1])/(p.v[i]-p.v[i-1])
}

// passes counts how often the camera came within 10 cm of a place.
func (p push) passes(place float64) (n int) {
	inside := false
	for v := 0.0; v <= p.end(); v += 0.25 {
		near := math.Abs(p.at(v)-place) <= 0.1
		if near && !inside {
			n++
		}
		inside = near
	}
	return n
}

// walk draws a push of that many seconds: on, stop and look, now and then back to look
// again; the end is sometimes the way out.
func (d *drawing) walk(length float64) push {
	p := push{v: []float64{0}, d: []float64{0}}
	to := func(seconds, place float64) {
		p.v, p.d = append(p.v, p.v[len(p.v)-1]+seconds), append(p.d, place)
	}
	pace := d.between(0.07, 0.3)
	back := d.between(0, 0.3)
	out := math.Inf(1)
	if d.chance(0.4) {
		out = length * d.between(0.7, 0.95)
	}
	to(d.between(2, 25), 0)
	for p.end() < length {
		here := p.d[len(p.d)-1]
		step := d.spread(0.2, 4)
		switch {
		case p.end() > out && here > 0:
			step = -min(here, 3*step)
		case p.end() > out:
			to(length-p.end()+1, 0)
			continue
		case here > 1.5 && d.chance(back):
			step = -min(here, step)
		}
		to(math.Abs(step)/(pace*d.between(0.6, 1.6)), here+step)
		if d.chance(0.8) {
			to(1.5+d.spread(1, 20), here+step)
		}
	}
	return p
}

// read draws what is known of the camera's place: a counter in the picture, a file of
// readings, or the moments at which the pictures stand still.
func (d *drawing) read() {
	source := d.of(0.45, 0.2, 0.35)
	d.Source = []string{"picture", "file", "none"}[source]
	if d.Source == "none" {
		if d.chance(0.5) {
			d.Stands = d.seenStanding()
		}
		return
	}
	d.Slip = d.chance(0.12)
	scale := 1.0
	if d.Slip {
		scale = 1 + d.between(0.003, 0.03)*float64(1-2*d.IntN(2))
	}
	every, step := 0.5, []float64{0.1, 0.05, 0.01}[d.of(0.7, 0.1, 0.2)]
	if d.Source == "file" {
		every = []float64{0.5, 1, 2}[d.IntN(3)]
	}
	hidden := math.Inf(1)
	if d.chance(0.2) {
		hidden = d.between(0.1, 0.9) * d.push.end()
	}
	again := math.Inf(1)
	if d.Reset = d.chance(0.04); d.Reset {
		again = d.between(0.3, 0.9) * d.push.end()
	}
	lag := d.between(0, 0.4) // of the display
	from := distance.FromFile
	if d.Source == "picture" {
		from = distance.FromPicture
	}
	end := d.Recording.End.Seconds()
	for v := 0.0; v < end; v += every {
		if v > hidden && v < hidden+12 || d.chance(0.03) {
			continue
		}
		at := d.push.at(max(0, v-lag))
		if v > again {
			at -= d.push.at(again)
		}
		shown := math.Round(at*scale/step) * step
		d.Readings = append(d.Readings, distance.Reading{At: timecode.VideoSeconds(v), Shown: distance.Metres(shown), Source: from})
	}
}

// seenStanding are the stands as somebody finds them who looks at pictures: edges off
// by up to a second, one of eight missed.
func (d *drawing) seenStanding() (stands []timeline.Stand) {
	for i := range len(d.push.v) - 1 {
		from, to := d.push.v[i]+d.between(-0.3, 1), d.push.v[i+1]-d.between(-0.3, 1)
		if !d.push.stands(i) || to-from < 2 || to > d.Recording.End.Seconds() || d.chance(0.12) {
			continue
		}
		stands = append(stands, timeline.Stand{From: timecode.VideoSeconds(max(0, from)), To: timecode.VideoSeconds(to)})
	}
	return stands
}
