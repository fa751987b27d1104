// Package timeline is the heart of pushcue: it places what was written about a
// push on the recording's time and along the line, and says how sure it is.
//
//	line, err := timeline.Resolve(ctx, timeline.Input{Sheet: sheet, Log: log, Recording: recording})
//	if err != nil {
//		return err // a fault.List: what in the job sheet can't be, and the next step
//	}
//	for _, o := range line.Observations {
//		fmt.Println(o.Number, o.Entry.What.Text, o.Video, "±", o.Uncertainty)
//	}
//	fmt.Print(line.Unplaced) // the rest, each with its cause: nothing is dropped
//
// Everything made afterwards (captions, cues, stills, clips, page, report) reads
// that one value, so nothing it says can disagree.
//
// It opens no file and starts no process. It doesn't promise that the log is
// right: where the log contradicts the recording it says so and believes the
// better witness, and what can't be placed it leaves to a person.
package timeline

import (
	"crypto/sha256"
	"encoding/hex"
	"strconv"
	"strings"
	"time"

	"pushcue/timeline/clock"
	"pushcue/timeline/codes"
	"pushcue/timeline/distance"
	"pushcue/timeline/fault"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// Input is all that placing needs.
type Input struct {
	Sheet     *jobsheet.Sheet
	Log       *fieldlog.Log // nil: captions only
	Recording Recording
	// Two sources of a track that is independent of the log. Readings are on the
	// recording already (the picture's counter); those of a file may go by the
	// log's clock and are put there.
	Readings     []distance.Reading
	ReadingsFile *fieldlog.Readings
	// Stands are when the pictures stand still; used where no track tells it.
	Stands []Stand
}

// A Recording is the shape of what was filmed.
type Recording struct {
	Parts []Part
	// Frames holds the presentation time of every frame shown, ascending,
	// through all parts; the last frame ends at End.
	Frames []timecode.Video
	End    timecode.Video
}

// A Part is one file of the recording.
type Part struct {
	File     string // as the job names it, forward slashes, relative to the job folder where it lies in it
	Start    timecode.Video
	Duration time.Duration  // to the end of its last frame
	First    int            // index in Recording.Frames of its first frame
	Rate     timecode.Rate  // nominal rate, for SMPTE timecode
	Began    time.Time      // when the recorder says that it began: weak; zero when unknown
	Shown    *Shown         // the recorder's clock as written on the picture; nil where none was read
	Damage   words.Sentence // a clause when it could be read only in part
}

// A Timeline is the resolved job: read-only once made.
type Timeline struct {
	Sheet        *jobsheet.Sheet
	Log          *fieldlog.Log
	Recording    Recording
	Clock        *clock.Fit      // nil when nothing ties the log to the recording
	Late         *time.Duration  // how late the log was written on the whole, where its rows tell
	Agreements   []Agreement     // a part each, where the log's clock was looked for by the track
	Track        *distance.Track // nil when no distance is known
	Observations []Observation   // by video time, numbered from 1
	Unplaced     []Unplaced
	Aside        []Aside // set aside by a person
	Warnings     []Warning
	ShowFrom     timecode.Video // what the customer gets starts here
	ShowTo       timecode.Video // and ends here

	civil       *civilTime // nil when true time isn't known
	independent bool       // Track doesn't come from the log
}

// Basis says what placed an observation.
type Basis string

const (
	ByVideo    Basis = "video"    // the log gave the recording's own time
	ByAnchor   Basis = "anchor"   // log clock, tied by anchors
	ByStart    Basis = "start"    // log clock, tied by the known start
	ByTrack    Basis = "track"    // log clock, tied by agreement with the track
	ByFileTime Basis = "filetime" // log clock, tied by the files' own times: weak
	ByDwell    Basis = "dwell"    // time, moved to where the track shows the distance
	ByDistance Basis = "distance" // only where the track shows the distance
	ByPerson   Basis = "person"   // a person said so
)

// An Observation is a placed row.
type Observation struct {
	Number int // in order of video time, from 1
	Row    int // data row of the log; one that a person added counts on behind them
	Frame  int // index in Recording.Frames of the frame it is placed on

	Video       timecode.Video  // that frame's presentation time
	VideoEnd    *timecode.Video // where a stretch ends
	Uncertainty time.Duration   // half-width that holds the truth in 95 % of cases
	Earliest    timecode.Video  `json:"-"` // the truth lies between these in 95 % of cases, and
	Latest      timecode.Video  `json:"-"` // often not evenly round Video: a row is written late, not early
	Sure        bool            `json:"-"` // 99.5 % of the belief lies within ten seconds
	Basis       Basis
	Why         []words.Sentence // how it came there

	Distance   *distance.Metres // the log's own, corrected; else the track's
	DistanceTo *distance.Metres // end of a stretch, corrected
	Track      *distance.Metres // what an independent track shows at Video
	TrueTime   *time.Time       // nil while the log clock is unsure

	// Unconfirmed tells that its place rests on the on-screen counter, which nobody
	// has confirmed.
	Unconfirmed bool

	Entry  *fieldlog.Row // what was written
	Hidden bool          // outside ShowFrom … ShowTo: no still, clip or cue
}

// Lopsided returns how long before and after Video an observation may have been seen,
// where the one is at least twice and a second more than the other.
func (o *Observation) Lopsided() (before, after time.Duration, lopsided bool) {
	before, after = o.Video.Sub(o.Earliest), o.Latest.Sub(o.Video)
	low, high := min(before, after), max(before, after)
	return before, after, o.Latest > o.Earliest && high >= 2*low && high-low >= time.Second
}

// Unplaced is a row that found no place, and why.
type Unplaced struct {
	Row   int
	Cause words.Sentence // a clause
	Entry *fieldlog.Row
}

// Aside is a row that a person has set aside: it isn't handed over.
type Aside struct {
	Row   int
	Entry *fieldlog.Row
}

// A Warning is something a person should know before handing over.
type Warning struct {
	Code codes.Code
	Row  int            // 0 when it belongs to no row
	Text words.Sentence // one sentence
	Hint words.Sentence // what to do; may be empty
	// Unsettled says, where that differs from case to case with the code (codes.ByCase),
	// that this warning leaves something open.
	Unsettled bool
	Out       Out
}

// An Out is where and by what a person settles a warning, for a page that leads there.
// All of it may be missing.
type Out struct {
	Row   int                   // to be found on the recording
	At    []timecode.Video      // moments to be looked at
	Tie   *Tie                  // a guess at the log's clock that a person may confirm
	Reset []distance.KnownReset // where the head may have been when the counter was set anew

	Anchor int          // the anchor that was set aside: its place in Clock.SetAside, from 1
	Edit   string       // ID of the correction that doesn't fit
	Fault  *fault.Fault // what couldn't be read in the log
}

// AboutRow puts the number of a row of the log before a clause.
func AboutRow(row int, clause words.Sentence) words.Sentence {
	return words.Tell("row %d: %s", row, clause)
}

// Clause returns what a warning says of its row, without the row's number; false where
// its text isn't made by AboutRow.
func (w Warning) Clause() (clause words.Sentence, found bool) {
	if args, about := w.Text.Args("row %d: %s"); about {
		clause, found = args[1].(words.Sentence)
	}
	return clause, found
}

// Open reports whether the warning leaves something open, so that the program ends with 3.
func (w Warning) Open() bool {
	info, _ := w.Code.Info()
	return info.Open == codes.Always || info.Open == codes.ByCase && w.Unsettled
}

// Key identifies a warning from one run to the next, whatever it is worded like: its
// code, its row, and what its sentence is filled with.
func (w Warning) Key() string {
	sum := sha256.Sum256([]byte(strings.Join(append([]string{string(w.Code), strconv.Itoa(w.Row)}, w.Text.Facts()...), "\x00")))
	return hex.EncodeToString(sum[:8])
}

// Matches reports whether a person who was shown a warning of this code, in these English
// words, was shown w: the same words, or other ones filled with the same things in the
// same order. Corrections written before warnings had keys name them so.
func (w Warning) Matches(code, text string) bool {
	if code != string(w.Code) {
		return false
	}
	if text == w.Text.String() {
		return true
	}
	facts := w.Text.Facts()
	for _, fact := range facts {
		_, rest, found := strings.Cut(text, fact)
		if !found {
			return false
		}
		text = rest
	}
	return len(facts) > 0
}

// A Tie is a time of the log's clock at a moment of the recording.
type Tie struct {
	Log   string // as a person would write it
	Half  time.Duration
	Video timecode.Video
}
