// Package edits reads and writes edits.jsonl, the corrections that people made to a
// job, and lays those in force over its job sheet and its log.
//
//	list := edits.Read("edits.jsonl", data)
//	sheet, unfit, err := jobsheet.ReadCorrected(sources, list.Corrections())
//	log, more := list.Apply(sheet, log, options)
//
// The file is a history: one JSON object a line, only ever appended to. Taking a
// correction back appends a line too, so that nothing typed is lost. A line that
// can't be read (the power went, somebody edited by hand) is kept and named, the
// others count. Lines of a kind that this version doesn't know are kept and named
// too: a newer one may have written them.
//
// It opens no file. It doesn't promise that a correction still fits: the log may
// have changed since. One that doesn't is named, and does nothing.
package edits

import (
	"encoding/json"
	"time"
)

// File is the name of the corrections in a job folder.
const File = "edits.jsonl"

// Kinds of edits, as Edit.What has them.
const (
	Anchor   = "anchor"    // the log's clock is tied: Row was seen at Video, and stands there
	NoAnchor = "no-anchor" // the job sheet's anchor on Row doesn't count
	Tie      = "tie"       // the log's clock showed Log at Video
	Seen     = "seen"      // Row was seen at Video: it alone is moved
	Set      = "set"       // Values of a row, as typed
	Add      = "add"       // an observation at Video, with Values; without Video where the track shows their distance
	Aside    = "aside"     // Row isn't handed over
	Restore  = "restore"   // it is again
	Still    = "still"     // its still shows the frame at Video; null: the automatic one
	Clip     = "clip"      // its clip goes From to To; null: the automatic one
	Sheet    = "sheet"     // Values of the job sheet, by key
	Taped    = "taped"     // a taped Length for what the Counter showed
	Reset    = "reset"     // the head was at Length when the counter was set anew, at Video
	Noted    = "noted"     // the warning of that Code and Key was seen, and is to stay as it is
	Belongs  = "belongs"   // File, a spoken note or photo, belongs to Row; without one to the push as a whole
	Omit     = "omit"      // File, a spoken note or photo, isn't handed over
	Undo     = "undo"      // Edit is taken back
	Redo     = "redo"      // Edit counts again
)

// An Edit is one line of the file.
type Edit struct {
	ID     string    `json:"id"` // tells it from every other
	Time   time.Time `json:"time"`
	Author string    `json:"author"`
	What   string    `json:"what"`

	Row   int      `json:"row,omitempty"`     // data row of the log, from 1
	Is    string   `json:"row_is,omitempty"`  // what told the row from others as it was corrected: see Mark
	On    string   `json:"on,omitempty"`      // ID of the edit that added the observation, instead of Row
	Video *float64 `json:"video_s,omitempty"` // seconds of video time, to the nanosecond
	From  *float64 `json:"from_s,omitempty"`
	To    *float64 `json:"to_s,omitempty"` // of the last frame shown
	// Values as typed. Of a row: its column's name (distance, what …) and text, or null for
	// what the log has. Of the job sheet: its key and value, or null for what the sheet has.
	Values  map[string]any `json:"values,omitempty"`
	Counter string         `json:"counter,omitempty"` // length, with its unit
	Length  string         `json:"length,omitempty"`
	Log     string         `json:"log,omitempty"`    // a time of the log's clock, as typed
	Half    float64        `json:"half_s,omitempty"` // how far Log may be off beyond its last digit, in seconds
	Code    string         `json:"code,omitempty"`   // of a warning
	Text    string         `json:"text,omitempty"`   // of a warning, as a person was shown it in English
	Key     string         `json:"key,omitempty"`    // of a warning: tells it from others whatever it is worded like
	File    string         `json:"file,omitempty"`   // in the job folder, with forward slashes
	Edit    string         `json:"edit,omitempty"`   // ID of the edit taken back, or counting again

	Line int `json:"-"` // in the file
}

// Append is the edit as a line of the file, with its line end.
func (e Edit) Append(to []byte) ([]byte, error) {
	text, err := json.Marshal(e)
	if err != nil {
		return to, err
	}
	return append(append(to, text...), '\n'), nil
}

// Columns are the values of a row that a person may set.
func Columns() []string {
	return []string{"time", "distance", "to", "what", "clock", "urgency", "note", "size", "depth"}
}
