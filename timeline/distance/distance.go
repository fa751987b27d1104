// Package distance holds lengths along the line: how people write them, how a
// counter that slips is put right, and the track that tells where the camera was
// at each moment of the recording.
//
//	ls, err := distance.Parse(`40'6"`, distance.ParseOptions{})
//	ls[0].Metres.Format(distance.Metre, '.')            // "12.3 m"
//
//	track, aside, err := distance.NewTrack(readings, distance.TrackOptions{})
//	p := track.At(timecode.VideoSeconds(314.2))         // where, and how well that is known
//	passes := track.When(12.4, 0.1)                     // every time it was there
//
// A distance is cable paid out from the access point, not a straight line on the
// surface. The track invents no number: outside its readings it has none, and
// across a long gap it says "about".
package distance

import (
	"math"
	"strconv"
	"strings"
	"time"

	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// Metres is a length along the line.
type Metres float64

// Unit is how a length was written or is to be shown.
type Unit string

const (
	Metre Unit = "m"
	Foot  Unit = "ft"

	// Units that a length can be written in; lengths are shown in metres or feet.
	Centimetre Unit = "cm"
	Millimetre Unit = "mm"
	Inch       Unit = "in"
)

// PerFoot is the international foot in metres, exact by the 1959 agreement (NIST SP 811).
const PerFoot Metres = 0.3048

// A Length is a length as somebody wrote it.
type Length struct {
	Metres Metres
	Unit   Unit   // metres or feet, whichever the unit it was written in belongs to
	As     Unit   `json:"-"` // the unit it was written in, or taken to be in; what was made before it was known stays right
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
	Thrown bool          // whoever read it found that no cable could have got there
	Half   time.Duration // its moment may be off by this much either way
}

// Shown is m in unit u with one digit after the decimal mark, for sentences.
func (m Metres) Shown(u Unit) words.Sentence {
	value, u := m.rounded(u)
	return words.Plain("%.1f %s", value, string(u))
}

// rounded is m in unit u, metres where that is empty, to a tenth and never −0.
func (m Metres) rounded(u Unit) (float64, Unit) {
	value := float64(m)
	if u == Foot {
		value = float64(m / PerFoot)
	} else {
		u = Metre
	}
	return math.Round(value*10)/10 + 0, u
}

// Format shows m in unit u with one digit after the decimal mark: "12.4 m",
// "40,7 ft". A decimal of 0 stands for a point. An empty unit is metres.
func (m Metres) Format(u Unit, decimal rune) string {
	value, u := m.rounded(u)
	text := strconv.FormatFloat(value, 'f', 1, 64)
	if decimal != 0 && decimal != '.' {
		text = strings.Replace(text, ".", string(decimal), 1)
	}
	return text + " " + string(u)
}

// Abs is the length without its sign.
func (m Metres) Abs() Metres { return max(m, -m) }
