package timecode

// A Rate is frames a second as a fraction: 30000/1001.
type Rate struct{ Num, Den int }

// SMPTE is a timecode label (SMPTE ST 12-1): a name for a frame, which becomes a
// moment only with a rate.
type SMPTE struct {
	Hours, Minutes, Seconds, Frames int
	Drop                            bool // two labels dropped each minute but every tenth
}
