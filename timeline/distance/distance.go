// Package distance holds lengths along the line: how people write them, and the
// track that tells where the camera was at each moment of the recording.
package distance

import "pushcue/timeline/timecode"

// Metres is a length along the line.
type Metres float64

// Unit is how a length was written or is to be shown.
type Unit string

const (
	Metre Unit = "m"
	Foot  Unit = "ft"
)

// PerFoot is the international foot in metres, exact by the 1959 agreement (NIST SP 811).
const PerFoot Metres = 0.3048

// A Length is a length as somebody wrote it.
type Length struct {
	Metres Metres
	Unit   Unit   // the unit it was written in
	Step   Metres // the size of its last digit: its resolution
	Text   string // as written
}

// Source tells where a reading came from.
type Source string

const (
	FromPicture Source = "picture" // read from the recorder's on-screen counter
	FromFile    Source = "file"    // a readings file
	FromLog     Source = "log"     // the observations' own distances
)

// A Reading is what the counter showed at one moment, before any correction.
type Reading struct {
	At     timecode.Video
	Shown  Metres
	Source Source
	Row    int // data row of the file or log it came from; 0 otherwise
	Unsure bool
}

// A Track is where the camera was over the recording.
type Track struct{}
