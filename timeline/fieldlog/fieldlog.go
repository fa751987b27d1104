// Package fieldlog reads the written observation log: whatever charset, dialect,
// column order, language and habits it comes in.
package fieldlog

import (
	"time"

	"pushcue/timeline/distance"
	"pushcue/timeline/fault"
	"pushcue/timeline/timecode"
)

// A Log is a log as read. Rows keep the order they were written in.
type Log struct {
	File    string
	Dialect Dialect
	Header  []string // the log's own header words, one a column
	Rows    []Row
	Elapsed bool // its times count from the log's own zero, not from midnight

	// Faults are cells that couldn't be read (left empty, their text kept) and
	// kinds that no list knows. They don't stop the work.
	Faults fault.List
	// Notes are choices made in reading that a person may want to know of.
	Notes []string
}

// Dialect is how the file turned out to be written.
type Dialect struct {
	Charset   string // "utf-8", "utf-16", "windows-1252", "xlsx" …
	Separator rune   // 0 for a sheet
	Decimal   rune   // '.' or ','
	Dates     string // "dmy", "mdy", "ymd" or "" when no date needed it
}

// A Row is one observation as written. Unknown or unreadable values are nil or "".
type Row struct {
	Number int // data rows counted from 1
	Line   int // line or sheet row in the file, from 1

	Time     *Moment          // the log's clock
	Video    *VideoTime       // the recording's own time
	Distance *distance.Length // where it starts
	To       *distance.Length // where a stretch ends
	What     Kind             //
	Clock    *ClockSpan       // round the pipe's wall
	Urgency  Urgency          //
	Note     string           //
	Size     string           // of what was seen, as written
	Depth    *distance.Length // ground to the located head
	Spoken   string           // sound file
	Photo    string           // picture file
	Cells    []string         // every cell as written, by column
}

// A Moment is a written time on the log's clock, taken at the middle of what it
// can stand for: 10:07 is 10:07:30 ± 30 s.
type Moment struct {
	Log  timecode.Log
	Half time.Duration // half of the written resolution
	Text string
}

// A VideoTime is a written time in the recording: a time, or a SMPTE timecode
// whose meaning waits for the recording's rate.
type VideoTime struct {
	At       timecode.Video
	Timecode *timecode.SMPTE // nil for a plain time
	Half     time.Duration   // half of the written resolution
	Text     string
}

// A Kind is what was seen.
type Kind struct {
	Key  string // one of the built-in plain kinds (package words), "" when unknown
	Code string // the firm's own code, "" without one
	Text string // as written, or the firm's words for its code
}

// A ClockSpan is a clock position round the pipe seen along the travel, in hours
// 0.5 … 12 in steps of a half. A single position has To == From.
type ClockSpan struct {
	From, To float64
	Text     string
}

// Urgency says how soon something should be done; "" when the log doesn't.
type Urgency string

const (
	UrgencyNone   Urgency = "none"
	UrgencyWatch  Urgency = "watch"
	UrgencyRepair Urgency = "repair"
	UrgencyAtOnce Urgency = "at once"
)
