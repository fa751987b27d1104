// Package fieldlog reads the written observation log: whatever charset, dialect,
// column order, language and habits it comes in.
//
// A log such as
//
//	Job 2291-B, kitchen lateral
//
//	Uhrzeit;Entfernung;Befund;Uhrlage
//	10:07;12,4 m;Wurzeln;9-3
//
// is read by
//
//	log, err := fieldlog.Read(ctx, file, fieldlog.Options{
//		File: "log.csv",
//		Date: timecode.Date{Year: 2026, Month: 3, Day: 2},
//		Zone: lisbon,
//	})
//
// into one row: 10:07:30 ± 30 s, 12.4 m ± 5 cm, roots, from 9 to 3 o'clock. A cell
// that can't be read is left empty, its text kept, and named in Log.Faults. What
// nobody but the writer can settle (01/02/2026; 1,234; a header "grade") comes back
// as an error, a fault.List that names both readings and the line for the job sheet.
//
// The package doesn't promise to guess: it settles an open cell only by the rest of
// the log or by what the job says, and it never corrects what a spreadsheet spoilt.
package fieldlog

import (
	"time"

	"pushcue/timeline/distance"
	"pushcue/timeline/fault"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// Options are what the job tells about a log. The zero value is a log of unknown
// date in UTC and metres.
type Options struct {
	File string // as the user named it, for faults

	Date    timecode.Date      // local date of the push; zero when not known
	Zone    *time.Location     // of the site; nil is UTC
	Dates   timecode.DateOrder // what 01/02/2026 means, "" when left open
	Decimal rune               // ',' or '.', 0 when left open
	Charset string             // an IANA name, "" when left open
	Unit    distance.Unit      // of a bare number; "" is metres
	Columns map[string]string  // our column name (words.Columns) -> the log's header word
	Kinds   *Kinds             // the firm's own list; nil without one

	beside bool // for a file beside the log: what the job says of the log is only a fallback
}

// A Log is a log as read. Rows keep the order they were written in.
type Log struct {
	File    string
	Dialect Dialect
	Above   []string // title lines above the header
	Header  []string // the log's own header words, one a column, "" for a column without
	Rows    []Row
	Elapsed bool           // its times count from the log's own zero, not from midnight
	Meaning map[string]int // our name of a column (words.Columns) -> its place, from 0
	Undated bool           // no date is known: its times of day count from 1970-01-01 in UTC

	// Faults are cells that couldn't be read: left empty, their text kept. They
	// don't stop the work, but leave something open.
	Faults fault.List
	// Unlisted are kinds that no list knows. They stay as written.
	Unlisted fault.List
	// Notes are choices made in reading that a person may want to know of.
	Notes []words.Sentence

	base *Log // the log as read, of one that is revised
}

// Dialect is how the file turned out to be written.
type Dialect struct {
	Charset   string // "utf-8", "utf-16le", "windows-1252", "xlsx" …
	Separator rune   // 0 for a sheet
	Sheet     string // name of the sheet read; "" for text
	Decimal   rune   // '.' or ','; 0 when no cell told
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
	Usual    bool             // Urgency is the usual one of the firm's list: the log has none
	Note     string           //
	Size     string           // of what was seen, as written
	Depth    *distance.Length // ground to the located head
	Spoken   string           // sound file
	Photo    string           // picture file
	Cells    []string         // every cell as written, by column

	// What people said of it afterwards; see Log.Revise. A log as read has none of it.
	Corrected        []string        // columns whose value they gave, in order of their names
	Added            string          // what they call it, for a row that the log itself doesn't have
	Aside            bool            // not to be handed over
	Seen             *timecode.Video // it was seen there
	Still            *timecode.Video // its still is to show this frame
	ClipFrom, ClipTo *timecode.Video // its clip is to show these frames and those between
	Given            []string        // spoken notes and photos that belong to it, as the job names them
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
	At       timecode.Video  // as written; a player that showed it may have been 2*Half further
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
// 0.5 … 12 in steps of a half, running clockwise. A single position has To == From.
// All round (12-12) starts half an hour after it ends: From 0.5, To 12.
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
