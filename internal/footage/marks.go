package footage

import (
	"math"
	"math/rand/v2"
)

// mark paints what of a feature lies flat on the wall.
func (w *wall) mark(f Feature, s Scene, r *rand.Rand) {
	switch f.Kind {
	case "crack":
		w.crack(f, r)
	case "connection":
		w.connection(f)
	case "grease":
		w.grease(f, r)
	case "scale":
		w.scale(f, r)
	case "infiltration":
		w.seep(f, r)
	case "offset-joint":
		w.step(f)
	case "roots":
		w.rootlets(f, r)
	}
}

func column(clock float64) int { return int(math.Round(clock/12*turn)) & (turn - 1) }

// crack is a jagged dark line with a pale edge, along the line with branches.
func (w *wall) crack(f Feature, r *rand.Rand) {
	x := float64(column(f.Clock))
	slope := 0.0
	for y := int(f.From * perM); y < int(f.To*perM); y++ {
		slope = 0.93*slope + 0.5*(r.Float64()-0.5)
		x += slope
		wide := int(2 + 3*f.Size + 1.5*r.Float64())
		for dx := -wide; dx <= wide; dx++ {
			w.cover(y, int(x)+dx, paint{0.05, 126, 130}, 1.15-float32(dx*dx)/float32(wide*wide+1))
		}
		w.dim(y, int(x)+wide+1, 1.35)
		w.dim(y, int(x)+wide+2, 1.2)
		if r.IntN(70) == 0 {
			w.branch(y, x, r)
		}
	}
}

func (w *wall) branch(y int, x float64, r *rand.Rand) {
	dir := float64(r.IntN(2)*2 - 1)
	for i := range 20 + r.IntN(90) {
		x += dir * (0.4 + 1.2*r.Float64())
		y += r.IntN(2)
		for dx := -1; dx <= 1; dx++ {
			w.cover(y, int(x)+dx, paint{0.07, 126, 130}, 0.9-float32(i)/140)
		}
	}
}

// connection is the mouth of a branch: a rim, a dark hole, and on its far side
// the branch's own wall catching the light.
func (w *wall) connection(f Feature) {
	radius := 36 + 14*f.Size // millimetres
	cy, cx := f.From*perM, column(f.Clock)
	const colMM = 0.31 // millimetres a column, at a bore of 100 mm
	for y := int(cy - radius - 12); y < int(cy+radius+12); y++ {
		for dx := -200; dx <= 200; dx++ {
			along, across := float64(y)-cy, float64(dx)*colMM
			d := math.Hypot(along, across) / radius
			switch {
			case d < 0.96:
				lit := float32(ramp(-0.1, 1, along/radius)) * float32(ramp(0.2, 0.9, d))
				w.cover(y, cx+dx, paint{0.03 + 0.42*lit, 121, 136}, 1)
			case d < 1.02:
				w.dim(y, cx+dx, 0.45)
			case d < 1.16:
				w.dim(y, cx+dx, float32(1.5-0.4*(d-1.02)/0.14))
			}
		}
	}
	// What came out of it has run down to the invert.
	down := 1
	if f.Clock > 6 {
		down = -1
	}
	for i := range 150 {
		for dy := -14; dy <= 14; dy++ {
			w.tint(int(cy)+dy+i/9, cx+down*(110+i), paint{0.80 + 0.2*float32(dy*dy)/196, 127, 129})
		}
	}
}

// grease is pale, lumpy, and thickest just above the flow.
func (w *wall) grease(f Feature, r *rand.Rand) {
	lumps, fine := newField(r, 16, 5), newField(r, 128, 3)
	reach := 0.9 + 0.9*f.Size
	for y := int(f.From * perM); y < int(f.To*perM); y++ {
		ends := ramp(0, 150, math.Min(float64(y)-f.From*perM, f.To*perM-float64(y)))
		for x := range turn {
			h := float32(ends*(reach-math.Abs(fromInvert(x)))) + 0.8*lumps.at(y, x) - 0.25
			if h <= 0 {
				continue
			}
			facing := lumps.at(y, x) - lumps.at(y+5, x) + 0.7*(lumps.at(y, x)-lumps.at(y, x+4))
			light := 0.68 + 1.1*facing + 0.16*fine.at(y, x) + 0.14*lumps.at(3*y, 3*x)
			w.cover(y, x, paint{light, 117, 131}, smooth(min(h*3, 1)))
		}
	}
}

// scale is a crust of dark and rusty knobs.
func (w *wall) scale(f Feature, r *rand.Rand) {
	knobs := newField(r, 64, 4)
	for y := int(f.From * perM); y < int(f.To*perM); y++ {
		for x := range turn {
			if n := knobs.at(y, x); n > 0.15 {
				facing := n - knobs.at(y+3, x)
				w.cover(y, x, paint{0.33 + 1.2*facing, 114, 146}, (n-0.15)*5)
			}
		}
	}
}

// seep is where water comes in: a wet run from a spot down to the invert, with
// lime at its ragged edges and a glint here and there.
func (w *wall) seep(f Feature, r *rand.Rand) {
	rough, ripple := newField(r, 32, 4), newField(r, 128, 2)
	cy, cx := int(f.From*perM), column(f.Clock)
	down, long := 1, turn/2-cx
	if f.Clock > 6 && f.Clock < 12 {
		down, long = -1, cx-turn/2
	}
	for i := range (long + turn) % turn {
		x := cx + down*i
		wide := 7 + 22*math.Sqrt(float64(i)/turn)*(0.6+f.Size)
		middle := cy + int(9*rough.at(400, i/2))
		for dy := -int(2 * wide); dy <= int(2*wide); dy++ {
			edge := float32(math.Abs(float64(dy))/wide) + 0.55*rough.at(middle+dy, x)
			switch {
			case edge < 0.75:
				shine := max(0, ripple.at(middle+dy, x/3)-0.35)
				w.tint(middle+dy, x, paint{0.58 + 2.4*shine, 126, 130})
			case edge < 1.15:
				w.cover(middle+dy, x, paint{0.88, 124, 132}, (1.15-edge)*1.7)
			}
		}
	}
}

// step darkens the wall that a dropped pipe leaves in its own shade.
func (w *wall) step(f Feature) {
	at := int(f.From * perM)
	for y := at - 6; y < at+130; y++ {
		for x := range turn {
			low := float32(1 - math.Abs(fromInvert(x))/1.7)
			if low > 0 {
				w.dim(y, x, 1-0.85*min(1, low*1.6)*(1-float32(y-at)/130))
			}
		}
	}
}

// rootlets are the threads that lie along the wall around where roots came in.
func (w *wall) rootlets(f Feature, r *rand.Rand) {
	from, to := f.From*perM, math.Max(f.To, f.From+0.12)*perM
	for range int(60 + 260*f.Size*(to-from)/1000) {
		y, x := from+(to-from)*r.Float64(), float64(column(f.Clock))+r.NormFloat64()*130
		dir := r.NormFloat64()
		light := 0.30 + 0.35*r.Float32()
		for i := range 60 + r.IntN(160) {
			dir += 0.22 * r.NormFloat64()
			y += math.Cos(dir)
			x += 1.4 * math.Sin(dir)
			thick := 1 - float32(i)/230
			for dx := range 3 {
				w.cover(int(y), int(x)+dx, paint{light * (1.1 - 0.3*float32(dx)), 116, 138}, thick)
			}
			w.dim(int(y)+2, int(x)+4, 0.7)
		}
	}
}
