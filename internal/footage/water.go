package footage

import "math"

// levelsOf returns the water's depth for each millimetre of the line, in metres:
// the flow, and what stands in a belly. It never reaches the eye.
func levelsOf(s Scene, rows int) []float32 {
	most := (1-eyeLow)*s.Pipe.Bore/2 - 0.0025
	depth := make([]float32, rows)
	for y := range depth {
		at := float64(y) / perM
		d := s.Pipe.Water
		for _, f := range s.Features {
			if f.Kind == "belly" && at > f.From && at < f.To {
				u := (at - f.From) / (f.To - f.From)
				d = math.Max(d, s.Pipe.Water+f.Size*0.55*s.Pipe.Bore*math.Pow(math.Sin(math.Pi*u), 0.8))
			}
		}
		depth[y] = float32(math.Min(d, most))
	}
	return depth
}

// surface is what the eye sees where its ray meets the water before the wall.
type surface struct {
	row, column int     // of the wall's mirror image
	depth       float32 // metres to the water, along the line
	glint       float32 // 0 to 1
	mirror      float32 // how much of the wall is seen in it
}

// water meets the ray to a spot of the wall (depth metres ahead, at an angle by
// column) with the water, if there is any above that spot.
func (p *Shoot) water(depth float32, column int) (surface, bool) {
	r := float32(p.lens.bore)
	wallY, wallX := r*p.cosines[column], r*p.sines[column]
	at := int((float32(p.now.distance) + depth) * perM)
	level := p.levels[min(max(at, 0), len(p.levels)-1)] - r
	if wallY >= level {
		return surface{}, false
	}
	eye := -eyeLow * r
	part := (eye - level) / (eye - wallY)
	hit := depth * part
	at = int((float32(p.now.distance) + hit) * perM)
	level = p.levels[min(max(at, 0), len(p.levels)-1)] - r
	if wallY >= level {
		return surface{}, false
	}
	// Ripples run with the flow; standing water only trembles.
	part = (eye - level) / (eye - wallY)
	hit = depth * part
	run := float32(p.now.at) * 130
	if level+r > float32(p.scene.Pipe.Water)+0.004 {
		run = float32(p.now.at) * 9
	}
	along := (float32(p.now.distance)+hit)*perM*1.6 - run
	side := wallX * part * perM * 6
	slope := p.ripples.between(along, side) - p.ripples.between(along+7, side)
	bend := slope * 11
	far := hit + depth*0.9
	return surface{
		row:    int((float32(p.now.distance)+far)*perM) + int(5*bend),
		column: (turn/2 - column + int(bend)) & (turn - 1),
		depth:  hit,
		glint:  max(0, slope*2.4-0.75) * min(1, hit*12),
		mirror: 0.34 + 0.9*min(1, hit*2.4),
	}, true
}
