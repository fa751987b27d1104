// Package counterset makes the recordings that reading the on-screen counter is
// measured by: one push filmed with many ways of writing a counter, and the truth
// of every frame.
//
//	all, err := counterset.Make(ctx, "build/counterset")
//	for _, r := range all {
//		fmt.Println(r.Name, r.Path, r.Shown[250]) // what frame 250 shows
//	}
//
// Recordings fall into four groups, each another push in another pipe: a reader may
// be tuned on the first; not on the second, though what it makes of that was looked at
// on the way; the third was scored for earlier readers, and never looked into; and the
// fourth is scored once, when a reader is done. They are made up and small: a real
// recorder may write in ways that aren't among them.
package counterset

import (
	"pushcue/internal/footage"
)

// A Kind says what a recording is to show.
type Kind string

const (
	Plain Kind = "plain" // digits of 16 pixels and more, with an outline or in a box
	Hard  Kind = "hard"
	None  Kind = "none" // no counter in it
)

// A Recording is one of the set, and the truth about it.
type Recording struct {
	Name  string
	Index int
	Group Group `json:"-"`
	Kind  Kind
	Path  string

	Rate     float64
	Width    int
	Height   int
	Shown    []string  // by frame: what the counter shows; "" where it is hidden
	Metres   []float64 // by frame: what that is; NaN where hidden
	Where    []float64 // by frame: the head's place
	Stands   []bool    // by frame: whether the camera stands
	Rezeroed []float64 // seconds at which the counter was set to zero again
	Clock    bool      // a clock or an elapsed time is shown as well
}

// A Group of recordings says what a reader knows of them.
type Group int

const (
	Tuned  Group = iota // the reader was tuned on them
	Known               // it wasn't, but what it made of them was looked at
	Scored              // neither, but scores of it led to further work
	Fresh               // nothing is known of them
	Drawn               // looks drawn by chance, to look for what a reader can't do
)

// Groups are all of them.
var Groups = []Group{Tuned, Known, Scored, Fresh, Drawn}

func (g Group) String() string {
	return [...]string{"tuned on", "known", "scored", "fresh", "drawn"}[g]
}

func groupOf(index int) Group {
	switch {
	case index >= firstFresh:
		return Fresh
	case index >= firstScored:
		return Scored
	}
	return Group(index % 2)
}

// A sample is how one recording is made. Heights of digits are in pixels of its
// own picture.
type sample struct {
	name    string
	kind    Kind
	format  string // small, large or laced
	look    footage.Look
	zero    float64
	slip    float64
	rezero  []float64
	blank   [][2]float64
	clock   string // "", "clock", "elapsed", "time"
	clockAt footage.Look
	gauges  []footage.Gauge
	every   float64 // seconds between refreshes of the counter's display
	tape    float64
	codec   string // "" for x264 at crf
	crf     int
}

// The numbers of the first recordings of the later groups.
const (
	firstScored = 42
	firstFresh  = 63
)

// samples are listed in pairs, up to the scored ones: the even one may be tuned on, the
// odd one not.
var samples = []sample{
	0:  {name: "mono outlined", kind: Plain, look: footage.Look{Face: "mono-bold", Height: 18, X: .05, Y: .86, Outline: true, Unit: "m", Decimals: 1, Pad: 2}, clock: "clock", crf: 23},
	1:  {name: "serif outlined", kind: Plain, look: footage.Look{Face: "serif-bold", Height: 18, X: .06, Y: .05, Outline: true, Unit: "m", Decimals: 1}, clock: "elapsed", crf: 23},
	2:  {name: "mono in a box, cm", kind: Plain, format: "large", look: footage.Look{Face: "mono", Height: 24, X: .94, Y: .06, Right: true, Box: true, Unit: " m", Decimals: 2, Pad: 3}, crf: 26},
	3:  {name: "sans in a box, cm", kind: Plain, format: "large", look: footage.Look{Face: "sans-bold", Height: 28, X: .94, Y: .88, Right: true, Box: true, Unit: " m", Decimals: 2}, crf: 26, clock: "clock"},
	4:  {name: "dots outlined", kind: Plain, look: footage.Look{Face: "dots", Height: 21, X: .05, Y: .06, Outline: true, Unit: "m", Decimals: 1, Pad: 3}, clock: "elapsed", crf: 23},
	5:  {name: "dots outlined, large", kind: Plain, format: "large", look: footage.Look{Face: "dots", Height: 28, X: .95, Y: .06, Right: true, Outline: true, Unit: "m", Decimals: 1, Pad: 2}, crf: 23},
	6:  {name: "segments in a box", kind: Plain, look: footage.Look{Face: "segments", Height: 24, X: .94, Y: .84, Right: true, Luma: 200, Cb: 90, Cr: 120, Decimals: 1, Pad: 3, Box: true}, crf: 23},
	7:  {name: "segments outlined", kind: Plain, format: "large", look: footage.Look{Face: "segments", Height: 36, X: .06, Y: .86, Outline: true, Decimals: 1}, crf: 23},
	8:  {name: "yellow, below zero", kind: Plain, look: footage.Look{Face: "sans-bold", Height: 18, X: .06, Y: .06, Luma: 200, Cb: 40, Cr: 146, Outline: true, Unit: " m", Decimals: 2}, zero: 1.2, crf: 23},
	9:  {name: "green mono, below zero", kind: Plain, look: footage.Look{Face: "mono-bold", Height: 18, X: .95, Y: .86, Right: true, Luma: 190, Cb: 70, Cr: 60, Outline: true, Unit: "m", Decimals: 1}, zero: 1.5, crf: 23},
	10: {name: "set to zero again", kind: Plain, look: footage.Look{Face: "mono-bold", Height: 17, X: .05, Y: .86, Outline: true, Unit: "m", Decimals: 1, Pad: 3}, rezero: []float64{24}, clock: "clock", crf: 23},
	11: {name: "set to zero twice", kind: Plain, look: footage.Look{Face: "condensed", Height: 18, X: .05, Y: .86, Outline: true, Unit: "m", Decimals: 1}, rezero: []float64{14, 35}, crf: 23},
	12: {name: "comma, shadowed", kind: Plain, format: "large", look: footage.Look{Face: "medium", Height: 24, X: .94, Y: .88, Right: true, Shadow: true, Outline: true, Unit: " m", Decimals: 2, Comma: true}, crf: 25},
	13: {name: "comma in a box", kind: Plain, look: footage.Look{Face: "serif", Height: 20, X: .94, Y: .06, Right: true, Box: true, Unit: " m", Decimals: 1, Comma: true}, clock: "time", clockAt: footage.Look{Face: "mono", Height: 14, X: .04, Y: .06, Outline: true}, crf: 25},
	14: {name: "feet", kind: Plain, look: footage.Look{Face: "typewriter", Height: 18, X: .06, Y: .86, Outline: true, Unit: "ft", Feet: true, Decimals: 1, Pad: 3}, clock: "clock", crf: 23},
	15: {name: "feet, sliding", kind: Plain, look: footage.Look{Face: "sans-bold", Height: 18, X: .06, Y: .86, Outline: true, Unit: "ft", Feet: true, Decimals: 1}, crf: 23},
	16: {name: "no decimals", kind: Plain, look: footage.Look{Face: "mono-bold", Height: 18, X: .45, Y: .05, Outline: true, Unit: "m", Pad: 3}, crf: 23},
	17: {name: "no decimals, feet", kind: Plain, look: footage.Look{Face: "mono", Height: 20, X: .05, Y: .05, Outline: true, Unit: "ft", Feet: true, Pad: 3}, clock: "elapsed", crf: 23},
	18: {name: "hidden for a while", kind: Plain, look: footage.Look{Face: "mono-bold", Height: 18, X: .05, Y: .86, Outline: true, Unit: "m", Decimals: 1, Pad: 2}, blank: [][2]float64{{12, 18}, {30, 31}}, crf: 23},
	19: {name: "hidden for a while, sans", kind: Plain, look: footage.Look{Face: "sans", Height: 20, X: .05, Y: .86, Outline: true, Unit: "m", Decimals: 1}, blank: [][2]float64{{9, 14}}, clock: "clock", crf: 23},
	20: {name: "proportional", kind: Plain, format: "large", look: footage.Look{Face: "sans-bold", Height: 26, X: .06, Y: .06, Outline: true, Unit: "m", Decimals: 1, Proportional: true}, crf: 23},
	21: {name: "proportional serif", kind: Plain, format: "large", look: footage.Look{Face: "serif-bold", Height: 26, X: .94, Y: .86, Right: true, Outline: true, Unit: "m", Decimals: 1, Proportional: true}, crf: 23},

	22: {name: "no outline", kind: Hard, look: footage.Look{Face: "mono", Height: 16, X: .06, Y: .86, Decimals: 1, Unit: "m", Pad: 2}, crf: 23},
	23: {name: "no outline, sans", kind: Hard, format: "large", look: footage.Look{Face: "sans", Height: 22, X: .06, Y: .06, Decimals: 1, Unit: "m"}, crf: 25},
	24: {name: "bare dots", kind: Hard, look: footage.Look{Face: "dots", Height: 21, X: .05, Y: .84, Unit: "m", Decimals: 1, Pad: 2}, crf: 23},
	25: {name: "bare dots, top", kind: Hard, format: "large", look: footage.Look{Face: "dots", Height: 21, X: .05, Y: .05, Unit: "m", Decimals: 1, Pad: 3}, crf: 26},
	26: {name: "interlaced", kind: Hard, format: "laced", look: footage.Look{Face: "mono-bold", Height: 18, X: .05, Y: .86, Outline: true, Unit: "m", Decimals: 1, Pad: 2}, codec: "mpeg2", clock: "clock"},
	27: {name: "interlaced, sans", kind: Hard, format: "laced", look: footage.Look{Face: "sans-bold", Height: 20, X: .95, Y: .06, Right: true, Outline: true, Unit: "m", Decimals: 1}, codec: "mpeg2"},
	28: {name: "tape", kind: Hard, look: footage.Look{Face: "mono-bold", Height: 18, X: .05, Y: .80, Outline: true, Unit: "m", Decimals: 1, Pad: 3}, tape: .5, crf: 23},
	29: {name: "tape, dots", kind: Hard, look: footage.Look{Face: "dots", Height: 21, X: .05, Y: .06, Outline: true, Unit: "m", Decimals: 1, Pad: 2}, tape: .5, crf: 23, clock: "elapsed"},
	30: {name: "small, hard pressed", kind: Hard, look: footage.Look{Face: "mono-bold", Height: 12, X: .05, Y: .88, Outline: true, Unit: "m", Decimals: 1, Pad: 2}, crf: 28},
	31: {name: "smallish, hard pressed", kind: Hard, look: footage.Look{Face: "sans-bold", Height: 14, X: .05, Y: .06, Outline: true, Unit: "m", Decimals: 1}, crf: 32},
	32: {name: "dark on bright", kind: Hard, look: footage.Look{Face: "sans-bold", Height: 18, X: .62, Y: .86, Luma: 24, Unit: "m", Decimals: 1}, crf: 23},
	33: {name: "motion JPEG, 10 pixels", kind: Hard, look: footage.Look{Face: "mono-bold", Height: 10, X: .05, Y: .05, Outline: true, Unit: "m", Decimals: 1, Pad: 3}, codec: "mjpeg", clock: "elapsed"},
	34: {name: "large digits, hard pressed", kind: Hard, format: "large", look: footage.Look{Face: "mono", Height: 40, X: .94, Y: .84, Right: true, Shadow: true, Unit: "m", Decimals: 2, Pad: 2}, crf: 32},
	35: {name: "serif, hard pressed", kind: Hard, format: "large", look: footage.Look{Face: "serif", Height: 16, X: .06, Y: .88, Outline: true, Unit: " m", Decimals: 1, Comma: true}, crf: 30, clock: "clock"},

	36: {name: "nothing written", kind: None, crf: 23},
	37: {name: "nothing written, interlaced", kind: None, format: "laced", codec: "mpeg2"},
	38: {name: "a clock alone", kind: None, clock: "clock", crf: 23},
	39: {name: "elapsed time alone", kind: None, format: "large", clock: "elapsed", crf: 23},
	40: {name: "seconds alone", kind: None, clock: "seconds", clockAt: footage.Look{Face: "mono-bold", Height: 18, X: .05, Y: .86, Outline: true}, crf: 23},
	41: {name: "a time with a point", kind: None, clock: "dotted", clockAt: footage.Look{Face: "mono-bold", Height: 18, X: .05, Y: .86, Outline: true}, crf: 23},

	42: {name: "bold outlined", kind: Plain, look: footage.Look{Face: "bold", Height: 19, X: .05, Y: .06, Outline: true, Unit: "m", Decimals: 1, Pad: 2}, clock: "clock", crf: 24},
	43: {name: "slanted outlined", kind: Plain, format: "large", look: footage.Look{Face: "slanted", Height: 27, X: .94, Y: .87, Right: true, Outline: true, Unit: " m", Decimals: 1}, crf: 24},
	44: {name: "plain in a box, cm", kind: Plain, format: "large", look: footage.Look{Face: "plain", Height: 25, X: .06, Y: .87, Box: true, Unit: " m", Decimals: 2, Pad: 2}, clock: "elapsed", crf: 25},
	45: {name: "typewriter, comma", kind: Plain, look: footage.Look{Face: "typewriter", Height: 19, X: .94, Y: .06, Right: true, Outline: true, Unit: " m", Decimals: 1, Comma: true}, crf: 24},
	46: {name: "dots in a box", kind: Plain, look: footage.Look{Face: "dots", Height: 21, X: .06, Y: .86, Box: true, Unit: "m", Decimals: 1, Pad: 2}, clock: "clock", crf: 24},
	47: {name: "segments in a box, cm", kind: Plain, format: "large", look: footage.Look{Face: "segments", Height: 30, X: .05, Y: .06, Box: true, Luma: 210, Cb: 100, Cr: 150, Decimals: 2, Pad: 2}, crf: 24},
	48: {name: "cyan, feet", kind: Plain, look: footage.Look{Face: "condensed", Height: 20, X: .95, Y: .87, Right: true, Luma: 190, Cb: 150, Cr: 60, Outline: true, Unit: " ft", Feet: true, Decimals: 1}, clock: "elapsed", crf: 24},
	49: {name: "serif, below zero", kind: Plain, format: "large", look: footage.Look{Face: "serif-bold", Height: 24, X: .05, Y: .06, Outline: true, Unit: "m", Decimals: 2}, zero: 1.7, crf: 24},
	50: {name: "bold, set to zero again", kind: Plain, look: footage.Look{Face: "bold", Height: 18, X: .06, Y: .86, Outline: true, Unit: "m", Decimals: 1, Pad: 2}, rezero: []float64{19}, clock: "clock", crf: 24},
	51: {name: "plain, hidden for a while", kind: Plain, look: footage.Look{Face: "plain", Height: 20, X: .94, Y: .86, Right: true, Outline: true, Unit: "m", Decimals: 1}, blank: [][2]float64{{15, 21}, {33, 36}}, crf: 24},
	52: {name: "bold, no decimals", kind: Plain, look: footage.Look{Face: "bold", Height: 20, X: .06, Y: .06, Outline: true, Unit: "ft", Feet: true, Pad: 2}, crf: 24},
	53: {name: "proportional, shadowed", kind: Plain, format: "large", look: footage.Look{Face: "bold", Height: 28, X: .06, Y: .86, Outline: true, Shadow: true, Unit: "m", Decimals: 1, Proportional: true}, crf: 24},

	54: {name: "bold, no outline", kind: Hard, format: "large", look: footage.Look{Face: "bold", Height: 20, X: .06, Y: .87, Decimals: 1, Unit: "m", Pad: 2}, crf: 24},
	55: {name: "bare dots, hard pressed", kind: Hard, format: "large", look: footage.Look{Face: "dots", Height: 21, X: .94, Y: .06, Right: true, Decimals: 1, Unit: "m", Pad: 2}, crf: 29},
	56: {name: "interlaced, plain", kind: Hard, format: "laced", look: footage.Look{Face: "plain", Height: 20, X: .06, Y: .06, Outline: true, Unit: "m", Decimals: 1, Pad: 2}, codec: "mpeg2", clock: "elapsed"},
	57: {name: "tape, bold", kind: Hard, look: footage.Look{Face: "bold", Height: 19, X: .94, Y: .80, Right: true, Outline: true, Unit: "m", Decimals: 1}, tape: .5, crf: 24},
	58: {name: "small typewriter, hard pressed", kind: Hard, look: footage.Look{Face: "typewriter", Height: 13, X: .06, Y: .06, Outline: true, Unit: "m", Decimals: 1, Pad: 2}, crf: 30, clock: "clock"},
	59: {name: "motion JPEG, 12 pixels", kind: Hard, look: footage.Look{Face: "bold", Height: 12, X: .94, Y: .87, Right: true, Outline: true, Unit: "m", Decimals: 1, Pad: 2}, codec: "mjpeg"},

	60: {name: "a clock, larger", kind: None, format: "large", clock: "clock", clockAt: footage.Look{Face: "plain", Height: 22, X: .06, Y: .06, Outline: true}, crf: 24},
	61: {name: "elapsed time in dots", kind: None, clock: "elapsed", clockAt: footage.Look{Face: "dots", Height: 21, X: .05, Y: .86, Outline: true}, crf: 24},
	62: {name: "seconds in segments", kind: None, clock: "seconds", clockAt: footage.Look{Face: "segments", Height: 24, X: .94, Y: .06, Right: true, Box: true}, crf: 24},

	63: {name: "medium outlined", kind: Plain, format: "large", look: footage.Look{Face: "medium", Height: 23, X: .05, Y: .87, Outline: true, Unit: " m", Decimals: 1, Pad: 3}, clock: "elapsed", crf: 22},
	64: {name: "condensed in a box, comma", kind: Plain, look: footage.Look{Face: "condensed", Height: 22, X: .94, Y: .06, Right: true, Box: true, Unit: "m", Decimals: 2, Comma: true}, clock: "clock", crf: 25},
	65: {name: "mono, orange", kind: Plain, look: footage.Look{Face: "mono-bold", Height: 17, X: .94, Y: .86, Right: true, Luma: 170, Cb: 60, Cr: 180, Outline: true, Unit: "m", Decimals: 2, Pad: 2}, crf: 22},
	66: {name: "dots in a box, feet", kind: Plain, format: "large", look: footage.Look{Face: "dots", Height: 28, X: .05, Y: .86, Box: true, Unit: "ft", Feet: true, Decimals: 1, Pad: 3}, clock: "clock", crf: 24},
	67: {name: "segments in a box, below zero", kind: Plain, look: footage.Look{Face: "segments", Height: 26, X: .06, Y: .06, Box: true, Decimals: 1, Pad: 2}, zero: 0.9, crf: 22},
	68: {name: "typewriter, cm", kind: Plain, format: "large", look: footage.Look{Face: "typewriter", Height: 26, X: .94, Y: .06, Right: true, Outline: true, Unit: "m", Decimals: 2}, clock: "elapsed", crf: 26},
	69: {name: "sans, set to zero again", kind: Plain, look: footage.Look{Face: "sans-bold", Height: 19, X: .05, Y: .06, Box: true, Unit: " m", Decimals: 1}, rezero: []float64{28}, crf: 24},
	70: {name: "plain, set to zero twice", kind: Plain, format: "large", look: footage.Look{Face: "plain", Height: 24, X: .06, Y: .87, Outline: true, Unit: "m", Decimals: 1, Pad: 2}, rezero: []float64{17, 33}, clock: "clock", crf: 24},
	71: {name: "serif, hidden twice", kind: Plain, look: footage.Look{Face: "serif-bold", Height: 20, X: .94, Y: .86, Right: true, Outline: true, Unit: "m", Decimals: 1}, blank: [][2]float64{{10, 13}, {27, 34}}, crf: 23},
	72: {name: "mono in a box, no decimals", kind: Plain, look: footage.Look{Face: "mono", Height: 21, X: .94, Y: .06, Right: true, Box: true, Unit: "ft", Feet: true, Pad: 3}, clock: "elapsed", crf: 25},
	73: {name: "slanted in a box", kind: Plain, format: "large", look: footage.Look{Face: "slanted", Height: 30, X: .06, Y: .06, Box: true, Unit: " ft", Feet: true, Decimals: 1}, crf: 24},
	74: {name: "proportional, comma", kind: Plain, format: "large", look: footage.Look{Face: "sans", Height: 27, X: .05, Y: .86, Outline: true, Unit: " m", Decimals: 1, Comma: true, Proportional: true}, crf: 23},

	75: {name: "sans, no outline", kind: Hard, look: footage.Look{Face: "sans-bold", Height: 18, X: .05, Y: .86, Decimals: 1, Unit: "m"}, crf: 22, clock: "elapsed"},
	76: {name: "interlaced, condensed in a box", kind: Hard, format: "laced", look: footage.Look{Face: "condensed", Height: 20, X: .94, Y: .86, Right: true, Box: true, Unit: "m", Decimals: 1, Pad: 2}, codec: "mpeg2"},
	77: {name: "tape, medium", kind: Hard, look: footage.Look{Face: "medium", Height: 20, X: .05, Y: .06, Outline: true, Unit: "m", Decimals: 1, Pad: 3}, tape: .4, crf: 23, clock: "clock"},
	78: {name: "small sans, hard pressed", kind: Hard, format: "large", look: footage.Look{Face: "sans-bold", Height: 15, X: .94, Y: .06, Right: true, Outline: true, Unit: " m", Decimals: 1}, crf: 31},
	79: {name: "motion JPEG, 14 pixels", kind: Hard, look: footage.Look{Face: "mono", Height: 14, X: .05, Y: .86, Outline: true, Unit: "m", Decimals: 1, Pad: 2}, codec: "mjpeg", clock: "clock"},
	80: {name: "bright box, hard pressed", kind: Hard, format: "large", look: footage.Look{Face: "bold", Height: 18, X: .06, Y: .87, Box: true, Unit: "m", Decimals: 2, Pad: 3}, crf: 30},

	81: {name: "elapsed time in a box", kind: None, format: "large", clock: "elapsed", clockAt: footage.Look{Face: "medium", Height: 24, X: .94, Y: .87, Right: true, Box: true}, crf: 24},
	82: {name: "tenths of seconds", kind: None, clock: "tenths", clockAt: footage.Look{Face: "mono-bold", Height: 18, X: .06, Y: .86, Outline: true}, crf: 24},
	83: {name: "a number that stays", kind: None, format: "large", clock: "number", clockAt: footage.Look{Face: "sans-bold", Height: 22, X: .06, Y: .06, Outline: true}, crf: 24},
}
