package footage

import (
	"fmt"
	"math"
)

// House is a kitchen lateral with a little of everything, some 85 seconds long.
func House(seed uint64) Scene {
	return Scene{
		Seed: seed,
		Pipe: Pipe{Length: 15.2, Bore: 0.10, Material: "clay", Joints: 0.6, Water: 0.006},
		Van:  3,
		Features: []Feature{
			{Kind: "grease", From: 1.9, To: 3.4, Size: 0.5},
			{Kind: "roots", From: 4.85, Clock: 12, Size: 0.55},
			{Kind: "connection", From: 6.6, Clock: 2.5, Size: 0.5},
			{Kind: "crack", From: 8.1, To: 8.9, Clock: 10.5, Size: 0.6},
			{Kind: "offset-joint", From: 9.7, Clock: 12, Size: 0.5},
			{Kind: "belly", From: 10.6, To: 12.8, Size: 0.6},
			{Kind: "infiltration", From: 13.7, Clock: 2, Size: 0.6},
			{Kind: "settled-debris", From: 14.3, To: 14.5, Size: 0.5},
		},
		Moves: []Move{
			{4, 0}, {2, 0.3}, {8, 2.4}, {3, 2.4}, {6, 4.74}, {6, 4.74}, {4, 6.5}, {3, 6.5}, {5, 8.4}, {4, 8.4},
			{2, 7.95}, {3, 7.95}, {4, 9.6}, {4, 9.6}, {4, 10.95}, {4, 10.95}, {5, 13.6}, {3, 13.6}, {2, 14.15}, {3, 14.15}, {3, 15.05}, {3, 15.05},
		},
	}
}

// frames is how many the recorder takes.
func (r Recorder) frames() int { return int(math.Round((r.To - r.From) * r.Rate)) }

// check refuses what can't be painted and fills in what was left open.
func check(s Scene, rec *Recorder) error {
	if rec.Rate <= 0 {
		return fmt.Errorf("a recorder that takes %g frames a second", rec.Rate)
	}
	if rec.Width < 64 || rec.Height < 64 || rec.Width%4 != 0 || rec.Height%4 != 0 {
		return fmt.Errorf("a picture of %dx%d: both must be 64 or more and divide by 4", rec.Width, rec.Height)
	}
	if s.Pipe.Length <= 0 || s.Pipe.Length > 60 || s.Pipe.Bore <= 0 {
		return fmt.Errorf("a line of %g m and a bore of %g m: 60 m at most", s.Pipe.Length, s.Pipe.Bore)
	}
	if rec.PixelAspect == 0 {
		rec.PixelAspect = 1
	}
	if rec.Grain == 0 {
		rec.Grain = 2.5
	}
	if rec.To == 0 {
		rec.To = s.Length()
	}
	for _, m := range s.Moves {
		if m.To > s.Pipe.Length || m.For <= 0 {
			return fmt.Errorf("a move to %g m in %g s on a line of %g m", m.To, m.For, s.Pipe.Length)
		}
	}
	return nil
}
