// Package jobsheet reads job.toml, firm.toml and visit.toml: strictly, so that a
// misspelt key is named with its line and the nearest known one.
//
//	from, err := jobsheet.Find(ctx, jobsheet.Place{Dir: "jobs/2291-B"}, open)
//	sheet, err := jobsheet.Read(from) // a fault.List names all that is wrong at once
//
// It opens no file itself and doesn't look whether the files a sheet names are there.
package jobsheet

import (
	"time"

	"pushcue/timeline/distance"
	"pushcue/timeline/timecode"
)

// A Sheet is a job sheet as read, every value checked and typed. A job without a
// sheet has the zero Sheet with defaults filled in (see Default).
type Sheet struct {
	File string // path as the user named it; "" without one

	Job       Job
	Firm      Firm
	Customer  Contact
	Site      Site
	Line      Line
	Recording Recording
	Log       Log
	Anchors   []Anchor
	Distance  Distance
	Counter   Counter
	Stills    Stills
	Clips     Clips
	Photos    Photos
	Captions  Captions
	Buyer     Buyer `json:"-"` // of no account for the customer's own handover

	Given     []string // keys whose value the sheets give, in order
	Corrected []string // keys whose value people gave afterwards, tables to which they added, in order
}

// Job is what the push was.
type Job struct {
	Reference string
	Date      Date           // local date of the push; zero when not given
	Zone      *time.Location // of the site
	ZoneGiven bool           // false: this computer's zone was taken
	Units     distance.Unit  // as shown
	Language  string         // BCP 47 tag: "en", "es", "fr", "de"
	Operator  string
	Reason    string
	Weather   string
	Cleaned   string
	Ended     string
}

// A Date is a civil date; the zero Date is none.
type Date = timecode.Date

// Contact is how to reach somebody.
type Contact struct{ Name, Address, Phone, Email string }

// Firm is who did the work.
type Firm struct {
	Contact
	Licence string
	Logo    string // picture file, relative to the sheet it was named in
	LogoDir string // folder of that sheet
}

// Site is where it was done.
type Site struct{ Address, Access string }

// Line is the pipe that was filmed.
type Line struct {
	Name, From, To string
	Travel         string // "downstream", "upstream" or ""
	Size, Material string
}

// Recording is what the sheet says of the recording.
type Recording struct {
	Files     []string
	Starts    *LogTime        // log-clock time of the first frame
	Ahead     *time.Duration  // recorder's clock minus true time
	ShowFrom  *timecode.Video // nil: from its start
	ShowTo    *timecode.Video // nil: to its end
	DropSound bool
}

// A LogTime is a time on the log's clock as the sheet gives it: it becomes a
// moment with the job's date.
type LogTime struct {
	Written timecode.Written
	Text    string
	Line    int // in the sheet
}

// Log is what the sheet says of the log.
type Log struct {
	File    string
	Ahead   *time.Duration // log clock minus true time at the start
	Lag     time.Duration  // an observation is written at most this long after it was seen
	Dates   string         // "dmy", "mdy", "ymd" or ""
	Decimal rune           // ',' or '.', 0 when left open
	Charset string
	Kinds   string            // the firm's own list
	Columns map[string]string // our column name -> the log's header word
}

// An Anchor is one moment known in both, as the sheet gives it.
type Anchor struct {
	Row int      // data row of the log; 0 when Log is given
	Log *LogTime // nil when Row is given
	// LogHalf is how far Log may be off, where a person confirmed a guess and read no clock.
	LogHalf time.Duration
	Video   timecode.Video
	Half    time.Duration // half of the resolution Video was written with
	Part    string        // Video counts from this part's start; "" from the recording's
	Line    int           // in the sheet
	Edit    string        // what a person's correction is called that set it; "" for the sheet's own
}

// Distance is how the counter is to be corrected.
type Distance struct {
	Readings string          // file of readings
	Fastest  distance.Metres // a second; no cable moves faster
	Zero     distance.Metres // what the counter showed at the start of the line
	Taped    []distance.Taped
	Resets   []distance.KnownReset // where the head was when the counter was set anew
}

// Counter is the recorder's on-screen counter.
type Counter struct {
	Look      string // "auto", "off" or "box"
	Box       [4]int // x, y, w, h in pixels of the recording, when Look is "box"
	Unit      distance.Unit
	Confirmed bool
}

// Stills is how stills are chosen.
type Stills struct {
	Window time.Duration // how far the best still may be from the exact one
}

// Clips is how excerpts are cut.
type Clips struct {
	Lead, Tail time.Duration
	Spoken     bool
}

// Photos is what becomes of hand-made photos.
type Photos struct{ KeepLocation bool }

// Buyer is what a person decided of what goes to a reader who isn't the customer: "keep",
// "drop" or, where nobody decided, "".
type Buyer struct {
	AsFilmed, Sound           string
	Spoken, Photos            string
	Positions, Notes, Picture string // "keep" or ""
}

// Keeps reports whether somebody decided that what goes by that key may go.
func (b Buyer) Keeps(key string) bool {
	return map[string]string{"as_filmed": b.AsFilmed, "sound": b.Sound, "spoken": b.Spoken, "photos": b.Photos,
		"positions": b.Positions, "notes": b.Notes, "picture": b.Picture}[key] == "keep"
}

// Captions is what is burned in.
type Captions struct {
	Strip string // "above", "below", "over", "none"
	Show  string // "place", "place+label", "all"

	// Encode is "fast", the fastest way that keeps the quality, or "small", a smaller file for more than
	// twice the time. It stays out of JSON, since no caption hangs on it.
	Encode string `json:"-"`
}
