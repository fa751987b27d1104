package footage

import "math"

// A state is where the head is at one moment.
type state struct {
	at       float64 // seconds of the scene
	distance float64 // metres
	speed    float64 // metres a second, negative when pulled back
	stands   bool
}

// stroke is how far a person pushes the cable before taking hold of it again.
const stroke = 0.45

// Length is how long the scene lasts, in seconds.
func (s Scene) Length() float64 {
	total := 0.0
	for _, m := range s.Moves {
		total += m.For
	}
	return total
}

// state returns where the head is at a moment of the scene. A push goes in
// strokes: quick, then almost at rest.
func (s Scene) state(at float64) state {
	from, left := 0.0, at
	for _, m := range s.Moves {
		if left < m.For {
			way := m.To - from
			if way == 0 {
				return state{at, from, 0, true}
			}
			const unevenness = 0.85
			turns := 2 * math.Pi * math.Max(1, math.Round(math.Abs(way)/stroke))
			u := left / m.For
			done := u - unevenness*math.Sin(turns*u)/turns
			speed := way / m.For * (1 - unevenness*math.Cos(turns*u))
			return state{at, from + way*done, speed, false}
		}
		left -= m.For
		from = m.To
	}
	return state{at, from, 0, true}
}

// shown is what the counter shows, before it is rounded.
func (c *Counter) shown(s Scene, at float64) float64 {
	zero := c.Zero
	for _, again := range c.Rezero {
		if at >= again {
			zero = s.state(again - c.Lag).distance
		}
	}
	return (s.state(math.Max(0, at-c.Lag)).distance - zero) * (1 + c.Slip)
}

// blank tells whether the counter is hidden at that moment.
func (c *Counter) blank(at float64) bool {
	for _, b := range c.Blank {
		if at >= b[0] && at < b[1] {
			return true
		}
	}
	return false
}
