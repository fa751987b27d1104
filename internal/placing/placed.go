// Package placing places a job on its recording: it reads the recording's frames, the log
// and the on-screen counter, and resolves them to one timeline. A Desk does the same again and again
// for somebody who corrects the job meanwhile.
package placing

import (
	"image"

	"pushcue/frames"
	"pushcue/internal/job"
	"pushcue/internal/placing/sighting"
	"pushcue/timeline"
	"pushcue/timeline/edits"
	"pushcue/timeline/timecode"
)

// Placed is a job whose log has been placed on its recording.
type Placed struct {
	Job       *job.Job
	Recording *frames.Recording
	Timeline  *timeline.Timeline
	Spoken    []Attached
	Photos    []Attached
	LeftOut   []job.Source       // spoken notes and photos that a person doesn't want handed over
	Joined    bool               // the three above are known; on a desk they come later
	Warnings  []timeline.Warning // the timeline's, the recording's, and of what is attached

	Unfit []edits.Unfit // corrections that don't fit any more

	// CounterSheet shows what was read off the on-screen counter, for a person to
	// confirm: a picture, absolute path; "" where no counter was read.
	CounterSheet string

	Inputs *inputs         // what it was placed by, on a desk
	watch  *sighting.Watch // nil where the pictures weren't to be looked at
	Seen   *sighting.Seen  // nil where they weren't
}

// Open reports whether something was left open, so that the program ends with 3.
func (p *Placed) Open() bool { return AnyOpen(p.Warnings) }

func AnyOpen(ws []timeline.Warning) bool {
	for _, w := range ws {
		if w.Open() {
			return true
		}
	}
	return false
}

// BurnedIn is where the recorder wrote into the picture shown.
func (p *Placed) BurnedIn() []image.Rectangle {
	areas := p.Seen.Written(p.Recording)
	if box := sighting.GivenBox(p.Job.Sheet.Counter); !box.Empty() && len(areas) == 0 {
		areas = append(areas, p.Recording.Shown(0, box))
	}
	return areas
}

// StandAt is the stand of the camera that holds v, by the track or else by the
// pictures; nil where none does.
func (p *Placed) StandAt(v timecode.Video) *frames.Stand {
	for _, s := range p.Timeline.Track.Stands() {
		if s.From <= v && v <= s.To {
			return &frames.Stand{From: s.From, To: s.To}
		}
	}
	if p.Seen == nil {
		return nil
	}
	for _, s := range p.Seen.Stood {
		if s.From <= v && v <= s.To {
			return &s
		}
	}
	return nil
}
