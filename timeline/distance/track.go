package distance

import (
	"time"

	"pushcue/timeline/timecode"
)

// State tells how well the track knows where the camera was.
type State int

const (
	Unread State = iota // outside the readings: no number
	About               // across a long gap between readings
	Filled              // between two readings close together
	Read                // at a reading
)

// Direction is which way the camera went.
type Direction int

const (
	Still Direction = iota
	In              // away from the access point
	Out             // pulled back
)

// A Point is where the camera was at one moment.
type Point struct {
	Metres    Metres // meaningless when State is Unread
	State     State
	Standing  bool // within a stand
	Direction Direction
	Unsure    bool // it rests on a reading that nobody is sure of
}

// A Stand is a time during which the camera stood still.
type Stand struct {
	From, To timecode.Video
	Metres   Metres
}

// A Pass is a time during which the camera was at a place.
type Pass struct {
	From, To timecode.Video // within the tolerance all that time
	At       timecode.Video // the middle of its stand; else when it was nearest to the place
	Stood    bool
	Stand    Stand // set when Stood
	About    bool  // it lies in a long gap between readings: the moment is a guess
}

// A SetAside is one reading, or several in a row, that no cable could have
// reached from the others.
type SetAside struct {
	First, Last Reading
	Count       int
	Jump        Metres // from where the track has the camera at First to what First shows, corrected
	Speed       Metres // a second, that First would have needed from the reading kept before it (or after)
	Rezeroed    bool   // they agree with each other: the counter was set anew there
}

// TrackOptions say how readings become a track. The zero value corrects nothing
// and takes the defaults.
type TrackOptions struct {
	Correction
	Fastest Metres        // a second; no cable is pushed or pulled faster. 0: 1.5
	Gap     time.Duration // readings further apart leave a gap. 0: three usual spacings, 2 s … 10 s
}

// A Track is where the camera was over the recording. A nil Track knows nothing
// and answers so. It is read-only and may be used by several goroutines.
type Track struct {
	readings []Reading
	places   []Metres // corrected, one a reading
}

// NewTrack makes a track of readings in any order. Readings that would need the
// cable to move faster than Fastest are set aside and told. No readings: a nil
// Track. The error is a fault.List of unusable taped lengths.
func NewTrack(rs []Reading, o TrackOptions) (*Track, []SetAside, error) {
	return nil, nil, o.Check().Err()
}

// At is where the camera was at v.
func (t *Track) At(v timecode.Video) Point { return Point{} }

// When tells every time the camera was within tol of d, in video order.
func (t *Track) When(d, tol Metres) []Pass { return nil }

// Stands are the times the camera stood still, in video order.
func (t *Track) Stands() []Stand { return nil }

// Readings are those the track rests on, as shown, in video order.
func (t *Track) Readings() []Reading { return t.readings }
