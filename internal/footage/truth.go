package footage

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
)

// A Truth is what really was, to hold a program's findings against.
type Truth struct {
	Rate     float64      `json:"rate"`
	Defects  []Defect     `json:"defects"`
	Frames   []FrameTruth `json:"-"`
	scene    Scene
	features []Feature
}

// A FrameTruth is one frame's. Scene seconds run through pauses of the recorder.
type FrameTruth struct {
	Number   int     `json:"n"`
	Scene    float64 `json:"scene_s"`
	Distance float64 `json:"distance_m"`
	Stands   bool    `json:"stands"`
	Shown    string  `json:"shown"`
}

// A Defect is a feature with the scene seconds at which it was first close
// enough to be made out, and those at which the camera stood before it.
type Defect struct {
	What      string       `json:"what"`
	From      float64      `json:"from_m"`
	To        float64      `json:"to_m,omitempty"`
	Clock     float64      `json:"clock,omitempty"`
	FirstSeen *float64     `json:"first_seen_s"`
	Dwells    [][2]float64 `json:"dwells_s"`
}

const (
	sightFar  = 0.45 // metres ahead at which a defect can be made out
	dwellFar  = 0.30 // metres ahead within which a stand is taken to be meant for it
	dwellNear = 0.02
)

func newTruth(s Scene, rec Recorder) Truth {
	return Truth{Rate: rec.Rate, Defects: s.Defects()}
}

// Defects tells when each feature was seen, whatever the recorder took of it.
func (s Scene) Defects() []Defect {
	var all []Defect
	for _, f := range s.Features {
		d := Defect{What: f.Kind, From: f.From, To: f.To, Clock: f.Clock}
		const tick = 0.02
		for at := s.Van; at < s.Length(); at += tick {
			st := s.state(at)
			ahead := f.From - st.distance
			if d.FirstSeen == nil && ahead < sightFar {
				seen := round3(at)
				d.FirstSeen = &seen
			}
			if !st.stands || ahead > dwellFar || ahead < dwellNear && st.distance > max(f.To, f.From)-dwellNear {
				continue
			}
			if n := len(d.Dwells); n > 0 && at-d.Dwells[n-1][1] < 1.5*tick {
				d.Dwells[n-1][1] = round3(at)
			} else {
				d.Dwells = append(d.Dwells, [2]float64{round3(at), round3(at)})
			}
		}
		all = append(all, d)
	}
	return all
}

func (t *Truth) note(p *Shoot, at float64) {
	st := p.scene.state(at)
	f := FrameTruth{p.index, round3(at), round3(st.distance), st.stands, ""}
	if p.rec.Counter != nil {
		f.Shown = p.counterText(at)
	}
	t.Frames = append(t.Frames, f)
}

// Truth returns what was true of the frames painted so far.
func (p *Shoot) Truth() Truth { return p.truth }

// WriteFrames writes the frames as JSON, one a line.
func (t Truth) WriteFrames(w io.Writer) error {
	for i, f := range t.Frames {
		line, err := json.Marshal(f)
		if err != nil {
			return err
		}
		end := ",\n"
		if i == len(t.Frames)-1 {
			end = "\n"
		}
		if _, err := fmt.Fprintf(w, "  %s%s", line, end); err != nil {
			return err
		}
	}
	return nil
}

func round3(v float64) float64 { return math.Round(v*1000) / 1000 }
