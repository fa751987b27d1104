package clock

import (
	"time"

	"pushcue/timeline/fault"
	"pushcue/timeline/timecode"
)

// Tie fits the log clock to the recording by anchors.
//
// The error is a fault.List that names the anchors which contradict each other
// and says what to do next.
func Tie(parts []Span, anchors []Anchor, o Options) (*Fit, error) {
	return nil, fault.Of(fault.Fault{Text: "no anchor ties the log to the recording"})
}

// A Start is what is known of a part's first frame on the log's clock: somewhere
// in At ± Half, all moments alike. Known false: nothing.
type Start struct {
	At    timecode.Log
	Half  time.Duration
	Known bool
}

// FromStarts ties each part by its own start.
func FromStarts(parts []Span, starts []Start, basis Basis, o Options) *Fit { return &Fit{Basis: basis} }

// FromStart ties the first part by the log's time of its first frame; later
// parts stay untied unless o.Began tells their distance from it.
func FromStart(parts []Span, at timecode.Log, half time.Duration, o Options) *Fit {
	return FromStarts(parts, []Start{{at, half, true}}, Starts, o)
}

// FromFileTimes ties each part by the time found in its file, already moved onto
// the log's clock; weak, so half should be generous. A nil entry ties nothing.
func FromFileTimes(parts []Span, began []*timecode.Log, half time.Duration, o Options) *Fit {
	return FromStarts(parts, nil, FileTimes, o)
}

// Video places a moment of the log's clock, written with a resolution of ± half,
// on the recording. uncertainty is the half-width that holds the truth in 95 % of
// cases. A moment just outside the recording, by less than its ±, is placed on
// the nearest moment inside. ok false: it can't be placed, and cause says why in
// one sentence.
func (f *Fit) Video(l timecode.Log, half time.Duration) (v timecode.Video, uncertainty time.Duration, ok bool, cause string) {
	return 0, 0, false, "nothing ties the log to the recording"
}

// Log is what the log's clock showed at a moment of the recording; ok false where
// nothing ties that moment.
func (f *Fit) Log(v timecode.Video) (l timecode.Log, uncertainty time.Duration, ok bool) {
	return 0, 0, false
}

// Elapsed is the civil time that passed from the recording's first frame to v:
// video time and what pauses and gaps between parts add. Where the recording
// runs Uneven, the log's rate is taken. ok false where something between is untied.
func (f *Fit) Elapsed(v timecode.Video) (d time.Duration, ok bool) { return 0, false }

// Describe tells the fit in plain sentences, for `check` and the --why of a row.
func (f *Fit) Describe() []string { return nil }
