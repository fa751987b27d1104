package overlay

// Limits of H.264 levels (ITU-T H.264, Annex A, table A-1; the numbers are from
// memory). A macroblock is 16×16 pixels; sizes are counted in whole ones.
const (
	// MostMacroblocks is the largest picture of levels 4 and 4.1. Level 4.2 would
	// take 8,704, but players that stop at 4.1 are still about.
	MostMacroblocks = 8192
	// MostSide is the longest side that a picture of MostMacroblocks may have:
	// the square root of eight times as many macroblocks.
	MostSide = 256 * 16

	mostPerSecond41 = 245_760
	mostPerSecond42 = 522_240
)

// Macroblocks counts those of a picture of width × height pixels.
func Macroblocks(width, height int) int { return ((width + 15) / 16) * ((height + 15) / 16) }

// Level is the H.264 level for pictures of width × height at rate pictures a
// second: "4.1", or "4.2" where the rate needs it. ok is false when neither is
// enough and the picture has to be made smaller.
func Level(width, height int, rate float64) (level string, ok bool) {
	n := Macroblocks(width, height)
	if n > MostMacroblocks || width > MostSide || height > MostSide {
		return "4.2", false
	}
	switch perSecond := float64(n) * rate; {
	case perSecond <= mostPerSecond41:
		return "4.1", true
	case perSecond <= mostPerSecond42:
		return "4.2", true
	}
	return "4.2", false
}
