// Package document writes a resolved timeline for other programs: timeline.json.
//
//	d := document.Of(line, words.English())
//	data, err := json.Marshal(d)
//
// It is a writer like any other: no other writer takes what it tells from a document.
// timeline.schema.json beside it is its JSON Schema.
package document

import "encoding/json"

// A Document is the timeline as other programs read it: timeline.json. Its
// fields are fixed; more may be added. Times are seconds of video time, lengths
// metres, paths relative to the handover folder with forward slashes. What isn't
// known is null. timeline.schema.json beside this file says the same in JSON Schema.
type Document struct {
	Version      int           `json:"version"`
	Job          Job           `json:"job"`
	Recording    Recording     `json:"recording"`
	Clock        Clock         `json:"clock"`
	Distance     Distance      `json:"distance"`
	Handover     *Handover     `json:"handover"` // null until something was made
	Observations []Observation `json:"observations"`
	Unplaced     []Unplaced    `json:"unplaced"`
	SetAside     []Aside       `json:"set_aside"`
	Warnings     []Warning     `json:"warnings"`
}

// Version is the version of the fields below.
const Version = 1

// Job is what was filmed, for whom, and by whom.
type Job struct {
	Reference *string  `json:"reference"`
	Date      *string  `json:"date"` // YYYY-MM-DD
	Zone      string   `json:"zone"` // IANA name
	Units     string   `json:"units"`
	Language  string   `json:"language"`
	Operator  *string  `json:"operator"`
	Reason    *string  `json:"reason"`
	Weather   *string  `json:"weather"`
	Cleaned   *string  `json:"cleaned"`
	Ended     *string  `json:"ended"`
	Firm      *Firm    `json:"firm"`
	Customer  *Contact `json:"customer"`
	Site      *Site    `json:"site"`
	Line      Line     `json:"line"`
	ByPerson  []string `json:"by_person"` // keys of the job sheet that a person corrected afterwards
}

// Contact is how to reach somebody.
type Contact struct {
	Name    *string `json:"name"`
	Address *string `json:"address"`
	Phone   *string `json:"phone"`
	Email   *string `json:"email"`
}

// Firm is who did the work.
type Firm struct {
	Contact
	Licence *string `json:"licence"`
}

// Site is where it was done.
type Site struct {
	Address *string `json:"address"`
	Access  *string `json:"access"`
}

// Line is the pipe.
type Line struct {
	Name     *string `json:"name"`
	From     *string `json:"from"`
	To       *string `json:"to"`
	Travel   *string `json:"travel"`
	Size     *string `json:"size"`
	Material *string `json:"material"`
}

// Recording is the recording as filmed.
type Recording struct {
	Duration float64 `json:"duration_s"`
	Parts    []Part  `json:"parts"`
}

// Part is one file of it.
type Part struct {
	File     string  `json:"file"`
	Start    float64 `json:"start_s"`
	Duration float64 `json:"duration_s"`
	TrueTime *string `json:"true_time"` // of its first picture, RFC 3339 with offset
	// TrueTimeBasis says what that is known by, as of an observation.
	TrueTimeBasis *string `json:"true_time_basis"`
	SHA256        *string `json:"sha256"` // null until something was made
}

// Clock tells how the log's clock lies on the recording.
type Clock struct {
	Basis    *string   `json:"basis"` // null when nothing ties them
	Segments []Segment `json:"segments"`
}

// Segment is a stretch over which the log's clock runs straight.
type Segment struct {
	From     float64  `json:"from_s"`
	To       float64  `json:"to_s"`
	LogFrom  *string  `json:"log_at_from"` // RFC 3339 as the log clock showed it; null when untied, or the log tells no day
	Rate     *float64 `json:"rate_ppm"`
	Residual *float64 `json:"residual_s"`
}

// Distance tells where the camera was.
type Distance struct {
	Basis     *string   `json:"basis"`     // picture, file, log; null without readings
	Confirmed *bool     `json:"confirmed"` // whether a person has confirmed those of the picture; null without any
	Readings  []Reading `json:"readings"`
	SetAside  []Reading `json:"set_aside"` // read, but no cable could have got there; distance_m as shown
	Unread    []Unread  `json:"unread"`    // between the first reading and the last: nothing is claimed there
	Resets    []Reset   `json:"resets"`
}

// Reading is one reading, corrected.
type Reading struct {
	Video    float64 `json:"video_s"`
	Distance float64 `json:"distance_m"`
	Source   string  `json:"source"`
	State    string  `json:"state"` // read; filled: made out among what the cable could have reached; set aside
}

// Unread is a stretch without a reading to go by.
type Unread struct {
	From float64 `json:"from_s"`
	To   float64 `json:"to_s"`
}

// Reset is a moment at which the counter was set anew.
type Reset struct {
	Before    float64  `json:"before_s"` // the last reading before
	After     float64  `json:"after_s"`  // the first one after
	ShownFrom float64  `json:"shown_from_m"`
	ShownTo   float64  `json:"shown_to_m"`
	Place     *float64 `json:"place_m"` // where the head was then, as the job sheet says; null where it doesn't
}

// Handover names what was made; package handover fills it.
type Handover struct {
	Video       *string    `json:"video"`
	VideoOffset float64    `json:"video_offset_s"`
	Videos      []Video    `json:"videos"`
	Subtitles   []string   `json:"subtitles"`
	AsFilmed    []AsFilmed `json:"as_filmed"`
	// What was spoken and photographed of the push and belongs to no one observation.
	Spoken  []Spoken `json:"spoken"`
	Photos  []string `json:"photos"`
	LeftOut int      `json:"left_out"` // spoken notes and photos that a person left out
}

// Spoken is one spoken note.
type Spoken struct {
	File     string  `json:"file"`
	Duration float64 `json:"duration_s"`
	Clip     *string `json:"clip"` // the still with the note to be heard; null without one
}

// Video is one captioned video.
type Video struct {
	File string  `json:"file"`
	From float64 `json:"from_s"`
}

// AsFilmed is one part of the recording, untouched.
type AsFilmed struct {
	File      string   `json:"file"`
	From      float64  `json:"from_s"`
	Subtitles []string `json:"subtitles"`
}

// Observation is a placed row.
type Observation struct {
	Number        int      `json:"number"`
	Row           int      `json:"row"`
	What          *string  `json:"what"`
	Kind          *string  `json:"kind"` // the product's own word for it, whatever the log's language
	Code          *string  `json:"code"` // the firm's
	Video         float64  `json:"video_s"`
	VideoEnd      *float64 `json:"video_end_s"`
	Uncertainty   float64  `json:"uncertainty_s"`
	Earliest      float64  `json:"earliest_s"`
	Latest        float64  `json:"latest_s"`
	Basis         string   `json:"basis"`
	Distance      *float64 `json:"distance_m"`
	DistanceTo    *float64 `json:"distance_to_m"`
	Track         *float64 `json:"track_m"`
	ClockFrom     *float64 `json:"clock_from"`
	ClockTo       *float64 `json:"clock_to"`
	Urgency       *string  `json:"urgency"`
	Note          *string  `json:"note"`
	Size          *string  `json:"size"`
	Depth         *float64 `json:"depth_m"`
	TrueTime      *string  `json:"true_time"`       // RFC 3339 with offset
	TrueTimeBasis *string  `json:"true_time_basis"` // log clock; corrected recorder clock; recorder clock or file times: nobody has checked those
	Hidden        bool     `json:"hidden"`          // outside what the customer gets
	Unconfirmed   bool     `json:"unconfirmed"`     // it rests on an on-screen counter that nobody has confirmed
	Still         *string  `json:"still"`           // package handover fills these
	StillTime     *float64 `json:"still_s"`         // video time of the frame that the still shows
	Clip          *string  `json:"clip"`
	ClipFrom      *float64 `json:"clip_from_s"` // where a person let the clip start; null for the usual
	ClipTo        *float64 `json:"clip_to_s"`   // video time of its last frame

	ByPerson []string `json:"by_person"` // fields above whose value a person gave afterwards
	Added    *string  `json:"added"`     // the correction that added it; null for a row of the log

	Spoken []Spoken `json:"spoken"`
	Photos []string `json:"photos"`
}

// Unplaced is a row that found no place.
type Unplaced struct {
	Row      int      `json:"row"`
	Cause    string   `json:"cause"`
	What     *string  `json:"what"` // as of an observation, here and below
	Kind     *string  `json:"kind"`
	Distance *float64 `json:"distance_m"`
	Urgency  *string  `json:"urgency"`
	Note     *string  `json:"note"`
	ByPerson []string `json:"by_person"`

	Spoken []Spoken `json:"spoken"`
	Photos []string `json:"photos"`
}

// Aside is a row that a person set aside.
type Aside struct {
	Row      int      `json:"row"`
	Added    *string  `json:"added"`
	What     *string  `json:"what"` // as of an observation, here and below
	Kind     *string  `json:"kind"`
	Distance *float64 `json:"distance_m"`
	Urgency  *string  `json:"urgency"`
	Note     *string  `json:"note"`
}

// Warning is something a person should know.
type Warning struct {
	Code string  `json:"code"`
	Row  *int    `json:"row"`
	Text string  `json:"text"`
	Hint *string `json:"hint"`
}

// ReadJob reads of a document what its job is, and the sum of the recording's first part,
// "" where it isn't told. Copies and archives of a handover are named by it, since the job
// folder may be elsewhere by then. Beside it only what looks whom a handover names reads a
// document back: nothing is worded from one.
func ReadJob(data []byte) (j *Job, recording string, err error) {
	var d struct {
		Job       Job
		Recording Recording
	}
	if err := json.Unmarshal(data, &d); err != nil {
		return nil, "", err
	}
	if parts := d.Recording.Parts; len(parts) > 0 && parts[0].SHA256 != nil {
		recording = *parts[0].SHA256
	}
	return &d.Job, recording, nil
}
