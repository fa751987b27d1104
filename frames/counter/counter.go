// Package counter finds the counter that a recorder burned into its picture and
// reads it, in lettering that it has never seen, without any engine for reading
// text. It sees pictures only.
//
//	survey := counter.NewSurvey(image.Pt(640, 480))
//	for _, picture := range some { // from all over the recording
//		survey.Add(picture)
//	}
//	var lines []*counter.Line
//	for _, region := range survey.Regions() {
//		line, err := counter.Read(ctx, stripsOf(region), counter.Options{})
//		...
//		lines = append(lines, line)
//	}
//	found := counter.Choose(lines)
//
// What it goes by: overlaid writing stands still while the picture moves; a digit
// looks the same each time it is shown; and a cable moves no faster than a person
// pushes it. Where a picture doesn't say clearly enough what it shows, nothing is
// read from it. What isn't promised: that a font whose digits look like other
// digits is labelled right. Counting tells most of that, a person's look at the
// sheet the rest.
package counter

import (
	"image"

	"pushcue/timeline/distance"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// Version changes when the same pictures may give other readings.
const Version = 9

// Options of reading.
type Options struct {
	Fastest distance.Metres // a second; no cable moves faster. 0: distance.DefaultFastest
	Unit    distance.Unit   // of what is shown; "" where the picture tells it or nobody does
}

// Strips are the pictures of one region, one after the other through the
// recording, several a second.
type Strips interface {
	Bounds() image.Rectangle // of the region in the picture
	Len() int
	At(i int) timecode.Video
	// Read fills a picture of the region's size.
	Read(i int, into *image.Gray) error
}

// A Line is what was made of one region: digits in a row, over the recording.
type Line struct {
	Box      image.Rectangle // round the writing, in the picture
	Kind     Kind
	Why      words.Sentence // why it is that kind, in a few words
	Samples  []Sample
	Decimals int
	Unit     distance.Unit  // as shown; "" where none was made out
	Doubt    words.Sentence // why a length may be another one than the cable's

	strips Strips
}

// Kind is what a line of writing turned out to be.
type Kind string

const (
	Nothing Kind = "nothing" // no digits that can be made out
	Still   Kind = "still"   // it never changes
	Time    Kind = "time"    // a clock, a date or an elapsed time
	Length  Kind = "length"  // it behaves as a cable counter does
	Odd     Kind = "odd"     // digits change, but not as a counter's do
)

// A Sample is one strip as it was read.
type Sample struct {
	At     timecode.Video
	Text   string  // digits as shown, with sign and point, or a date and time; "" where nothing was read
	Value  float64 // in the unit shown; 0 for a date and time
	Margin float64 // how much better than the next best reading fits, in nats; 0 where nothing was read
	State  State
}

// State is how a sample's value came about.
type State uint8

const (
	Unread  State = iota
	AsShown       // from this strip alone
	Filled        // from this strip, among the values that the cable could have reached
	Thrown        // read, and no cable could have got there
)
