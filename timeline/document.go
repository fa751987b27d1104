package timeline

// A Document is the timeline as other programs read it: timeline.json. Its
// fields are fixed; more may be added. Times are seconds of video time, lengths
// metres, paths relative to the handover folder with forward slashes. What isn't
// known is null. timeline.schema.json beside this file says the same in JSON Schema.
type Document struct {
	Version      int                   `json:"version"`
	Job          DocumentJob           `json:"job"`
	Recording    DocumentRecording     `json:"recording"`
	Clock        DocumentClock         `json:"clock"`
	Distance     DocumentDistance      `json:"distance"`
	Handover     *DocumentHandover     `json:"handover"` // null until something was made
	Observations []DocumentObservation `json:"observations"`
	Unplaced     []DocumentUnplaced    `json:"unplaced"`
	SetAside     []DocumentAside       `json:"set_aside"`
	Warnings     []DocumentWarning     `json:"warnings"`
}

// DocumentVersion is the version of the fields below.
const DocumentVersion = 1

// DocumentJob is what was filmed, for whom, and by whom.
type DocumentJob struct {
	Reference *string          `json:"reference"`
	Date      *string          `json:"date"` // YYYY-MM-DD
	Zone      string           `json:"zone"` // IANA name
	Units     string           `json:"units"`
	Language  string           `json:"language"`
	Operator  *string          `json:"operator"`
	Reason    *string          `json:"reason"`
	Weather   *string          `json:"weather"`
	Cleaned   *string          `json:"cleaned"`
	Ended     *string          `json:"ended"`
	Firm      *DocumentFirm    `json:"firm"`
	Customer  *DocumentContact `json:"customer"`
	Site      *DocumentSite    `json:"site"`
	Line      DocumentLine     `json:"line"`
	ByPerson  []string         `json:"by_person"` // keys of the job sheet that a person corrected afterwards
}

// DocumentContact is how to reach somebody.
type DocumentContact struct {
	Name    *string `json:"name"`
	Address *string `json:"address"`
	Phone   *string `json:"phone"`
	Email   *string `json:"email"`
}

// DocumentFirm is who did the work.
type DocumentFirm struct {
	DocumentContact
	Licence *string `json:"licence"`
}

// DocumentSite is where it was done.
type DocumentSite struct {
	Address *string `json:"address"`
	Access  *string `json:"access"`
}

// DocumentLine is the pipe.
type DocumentLine struct {
	Name     *string `json:"name"`
	From     *string `json:"from"`
	To       *string `json:"to"`
	Travel   *string `json:"travel"`
	Size     *string `json:"size"`
	Material *string `json:"material"`
}

// DocumentRecording is the recording as filmed.
type DocumentRecording struct {
	Duration float64        `json:"duration_s"`
	Parts    []DocumentPart `json:"parts"`
}

// DocumentPart is one file of it.
type DocumentPart struct {
	File     string  `json:"file"`
	Start    float64 `json:"start_s"`
	Duration float64 `json:"duration_s"`
	SHA256   *string `json:"sha256"` // null until something was made
}

// DocumentClock tells how the log's clock lies on the recording.
type DocumentClock struct {
	Basis    *string           `json:"basis"` // null when nothing ties them
	Segments []DocumentSegment `json:"segments"`
}

// DocumentSegment is a stretch over which the log's clock runs straight.
type DocumentSegment struct {
	From     float64  `json:"from_s"`
	To       float64  `json:"to_s"`
	LogFrom  *string  `json:"log_at_from"` // RFC 3339 as the log clock showed it; null when untied, or the log tells no day
	Rate     *float64 `json:"rate_ppm"`
	Residual *float64 `json:"residual_s"`
}

// DocumentDistance tells where the camera was.
type DocumentDistance struct {
	Basis     *string           `json:"basis"`     // picture, file, log; null without readings
	Confirmed *bool             `json:"confirmed"` // whether a person has confirmed those of the picture; null without any
	Readings  []DocumentReading `json:"readings"`
	SetAside  []DocumentReading `json:"set_aside"` // read, but no cable could have got there; distance_m as shown
	Unread    []DocumentUnread  `json:"unread"`    // between the first reading and the last: nothing is claimed there
	Resets    []DocumentReset   `json:"resets"`
}

// DocumentReading is one reading, corrected.
type DocumentReading struct {
	Video    float64 `json:"video_s"`
	Distance float64 `json:"distance_m"`
	Source   string  `json:"source"`
	State    string  `json:"state"` // read; filled: made out among what the cable could have reached; set aside
}

// DocumentUnread is a stretch without a reading to go by.
type DocumentUnread struct {
	From float64 `json:"from_s"`
	To   float64 `json:"to_s"`
}

// DocumentReset is a moment at which the counter was set anew.
type DocumentReset struct {
	Before    float64  `json:"before_s"` // the last reading before
	After     float64  `json:"after_s"`  // the first one after
	ShownFrom float64  `json:"shown_from_m"`
	ShownTo   float64  `json:"shown_to_m"`
	Place     *float64 `json:"place_m"` // where the head was then, as the job sheet says; null where it doesn't
}

// DocumentHandover names what was made; package handover fills it.
type DocumentHandover struct {
	Video       *string            `json:"video"`
	VideoOffset float64            `json:"video_offset_s"`
	Videos      []DocumentVideo    `json:"videos"`
	Subtitles   []string           `json:"subtitles"`
	AsFilmed    []DocumentAsFilmed `json:"as_filmed"`
	// What was spoken and photographed of the push and belongs to no one observation.
	Spoken  []DocumentSpoken `json:"spoken"`
	Photos  []string         `json:"photos"`
	LeftOut int              `json:"left_out"` // spoken notes and photos that a person left out
}

// DocumentSpoken is one spoken note.
type DocumentSpoken struct {
	File     string  `json:"file"`
	Duration float64 `json:"duration_s"`
	Clip     *string `json:"clip"` // the still with the note to be heard; null without one
}

// DocumentVideo is one captioned video.
type DocumentVideo struct {
	File string  `json:"file"`
	From float64 `json:"from_s"`
}

// DocumentAsFilmed is one part of the recording, untouched.
type DocumentAsFilmed struct {
	File      string   `json:"file"`
	From      float64  `json:"from_s"`
	Subtitles []string `json:"subtitles"`
}

// DocumentObservation is a placed row.
type DocumentObservation struct {
	Number      int      `json:"number"`
	Row         int      `json:"row"`
	What        *string  `json:"what"`
	Kind        *string  `json:"kind"` // the product's own word for it, whatever the log's language
	Code        *string  `json:"code"` // the firm's
	Video       float64  `json:"video_s"`
	VideoEnd    *float64 `json:"video_end_s"`
	Uncertainty float64  `json:"uncertainty_s"`
	Basis       string   `json:"basis"`
	Distance    *float64 `json:"distance_m"`
	DistanceTo  *float64 `json:"distance_to_m"`
	Track       *float64 `json:"track_m"`
	ClockFrom   *float64 `json:"clock_from"`
	ClockTo     *float64 `json:"clock_to"`
	Urgency     *string  `json:"urgency"`
	Note        *string  `json:"note"`
	Size        *string  `json:"size"`
	Depth       *float64 `json:"depth_m"`
	TrueTime    *string  `json:"true_time"`   // RFC 3339 with offset
	Hidden      bool     `json:"hidden"`      // outside what the customer gets
	Unconfirmed bool     `json:"unconfirmed"` // it rests on an on-screen counter that nobody has confirmed
	Still       *string  `json:"still"`       // package handover fills these
	StillTime   *float64 `json:"still_s"`     // video time of the frame that the still shows
	Clip        *string  `json:"clip"`
	ClipFrom    *float64 `json:"clip_from_s"` // where a person let the clip start; null for the usual
	ClipTo      *float64 `json:"clip_to_s"`   // video time of its last frame

	ByPerson []string `json:"by_person"` // fields above whose value a person gave afterwards
	Added    *string  `json:"added"`     // the correction that added it; null for a row of the log

	Spoken []DocumentSpoken `json:"spoken"`
	Photos []string         `json:"photos"`
}

// DocumentUnplaced is a row that found no place.
type DocumentUnplaced struct {
	Row      int      `json:"row"`
	Cause    string   `json:"cause"`
	What     *string  `json:"what"` // as of an observation, here and below
	Kind     *string  `json:"kind"`
	Distance *float64 `json:"distance_m"`
	Urgency  *string  `json:"urgency"`
	Note     *string  `json:"note"`
	ByPerson []string `json:"by_person"`

	Spoken []DocumentSpoken `json:"spoken"`
	Photos []string         `json:"photos"`
}

// DocumentAside is a row that a person set aside.
type DocumentAside struct {
	Row      int      `json:"row"`
	Added    *string  `json:"added"`
	What     *string  `json:"what"` // as of an observation, here and below
	Kind     *string  `json:"kind"`
	Distance *float64 `json:"distance_m"`
	Urgency  *string  `json:"urgency"`
	Note     *string  `json:"note"`
}

// DocumentWarning is something a person should know.
type DocumentWarning struct {
	Code string  `json:"code"`
	Row  *int    `json:"row"`
	Text string  `json:"text"`
	Hint *string `json:"hint"`
}
