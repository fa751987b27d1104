package footage

// A Look is how a text is written into the picture.
type Look struct {
	Name   string
	Face   string  // mono, mono-bold, sans, sans-bold, condensed, serif, serif-bold, medium, typewriter, dots or segments
	Height int     // of a digit, in lines of a picture 480 high
	X, Y   float64 // of the text's corner, as parts of the picture
	Right  bool    // X is the right end

	Luma, Cb, Cr uint8 // of the letters; 0 is white
	Outline      bool
	Shadow       bool
	Box          bool
	Proportional bool // each sign as wide as its ink

	Unit     string // behind the length: "m", " m", "ft", ""
	Feet     bool
	Decimals int
	Comma    bool
	Pad      int     // digits ahead of the point, filled with zeros
	Before   string  // ahead of the length: "D:", "M "
	Step     float64 // of what is shown, where it is coarser than the last digit: 0.05
}

// Looks are ways of writing a counter, chosen to differ in what makes reading
// easy or hard. They are made up; none is a particular recorder's.
var Looks = []Look{
	{Name: "plain", Face: "mono-bold", Height: 26, X: 0.06, Y: 0.88, Outline: true, Unit: "m", Decimals: 1, Pad: 2},
	{Name: "boxed", Face: "mono", Height: 24, X: 0.94, Y: 0.07, Right: true, Box: true, Unit: " m", Decimals: 2, Pad: 3},
	{Name: "dots", Face: "dots", Height: 28, X: 0.05, Y: 0.06, Outline: true, Unit: "m", Decimals: 1, Pad: 3},
	{Name: "bare dots", Face: "dots", Height: 28, X: 0.05, Y: 0.86, Unit: "m", Decimals: 1, Pad: 2},
	{Name: "segments", Face: "segments", Height: 32, X: 0.94, Y: 0.88, Right: true, Luma: 200, Cb: 90, Cr: 120, Decimals: 1, Pad: 3, Box: true},
	{Name: "yellow", Face: "sans-bold", Height: 24, X: 0.06, Y: 0.06, Luma: 200, Cb: 40, Cr: 146, Outline: true, Unit: " m", Decimals: 2},
	{Name: "dark", Face: "sans", Height: 22, X: 0.70, Y: 0.90, Luma: 24, Shadow: false, Unit: "m", Decimals: 1},
	{Name: "comma", Face: "medium", Height: 24, X: 0.94, Y: 0.88, Right: true, Shadow: true, Unit: " m", Decimals: 2, Comma: true},
	{Name: "feet", Face: "typewriter", Height: 24, X: 0.06, Y: 0.88, Outline: true, Unit: "ft", Feet: true, Decimals: 1, Pad: 3},
	{Name: "bare", Face: "mono", Height: 20, X: 0.06, Y: 0.90, Decimals: 1},
	{Name: "whole", Face: "mono-bold", Height: 22, X: 0.45, Y: 0.05, Outline: true, Unit: "m", Pad: 3},
	{Name: "small", Face: "sans", Height: 11, X: 0.04, Y: 0.93, Outline: true, Unit: "m", Decimals: 1},
}

// LookNamed finds a look; false where there is none of that name.
func LookNamed(name string) (Look, bool) {
	for _, l := range Looks {
		if l.Name == name {
			return l, true
		}
	}
	return Look{}, false
}

// ClockLook is how the recorder's date and time are written by default.
var ClockLook = Look{Name: "clock", Face: "mono", Height: 18, X: 0.94, Y: 0.06, Right: true, Outline: true}
