package timeline

import (
	"fmt"
	"math"
	"path"
	"strings"

	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// Document is the timeline as timeline.json holds it, but for what was made:
// package handover adds hashes, videos, stills and clips.
func (t *Timeline) Document() *Document { return t.DocumentIn(words.English()) }

// DocumentIn is Document with its sentences in another language than English, which
// timeline.json has.
func (t *Timeline) DocumentIn(language *words.Language) *Document {
	d := &Document{
		Version:      DocumentVersion,
		Job:          jobDocument(t.Sheet),
		Recording:    DocumentRecording{Duration: t.Recording.End.Seconds(), Parts: []DocumentPart{}},
		Clock:        t.clockDocument(),
		Distance:     t.distanceDocument(),
		Observations: []DocumentObservation{},
		Unplaced:     []DocumentUnplaced{},
		SetAside:     []DocumentAside{},
		Warnings:     []DocumentWarning{},
	}
	for _, p := range t.Recording.Parts {
		d.Recording.Parts = append(d.Recording.Parts, DocumentPart{
			File: forward(p.File), Start: p.Start.Seconds(), Duration: p.Duration.Seconds(),
		})
	}
	for _, o := range t.Observations {
		d.Observations = append(d.Observations, observationDocument(o))
	}
	for _, u := range t.Unplaced {
		d.Unplaced = append(d.Unplaced, t.unplacedDocument(u, language))
	}
	for _, a := range t.Aside {
		d.SetAside = append(d.SetAside, t.asideDocument(a))
	}
	for _, w := range t.Warnings {
		d.Warnings = append(d.Warnings, WarningDocument(w, language))
	}
	return d
}

// WithoutContacts leaves out who the customer is and how to get in, for a reader
// who isn't the customer.
func (d *Document) WithoutContacts() *Document {
	other := *d
	other.Job.Customer = nil
	if s := d.Job.Site; s != nil {
		other.Job.Site = &DocumentSite{Address: s.Address}
	}
	return &other
}

// WarningDocument is a warning as timeline.json holds it.
func WarningDocument(w Warning, language *words.Language) DocumentWarning {
	d := DocumentWarning{Code: w.Code, Text: language.Put(words.Plain("%s", w.Text)), Hint: text(language.Put(words.Plain("%s", w.Hint)))}
	if w.Row > 0 {
		d.Row = &w.Row
	}
	return d
}

func jobDocument(s *jobsheet.Sheet) DocumentJob {
	j := DocumentJob{
		Reference: text(s.Job.Reference), Units: string(s.Job.Units), Language: s.Job.Language,
		Operator: text(s.Job.Operator), Reason: text(s.Job.Reason), Weather: text(s.Job.Weather),
		Cleaned: text(s.Job.Cleaned), Ended: text(s.Job.Ended),
		Customer: contactDocument(s.Customer), ByPerson: some(s.Corrected),
		Line: DocumentLine{
			Name: text(s.Line.Name), From: text(s.Line.From), To: text(s.Line.To),
			Travel: text(s.Line.Travel), Size: text(s.Line.Size), Material: text(s.Line.Material),
		},
	}
	if s.Job.Zone != nil {
		j.Zone = s.Job.Zone.String()
	}
	if date := s.Job.Date; date.Year != 0 {
		j.Date = text(fmt.Sprintf("%04d-%02d-%02d", date.Year, date.Month, date.Day))
	}
	if firm := contactDocument(s.Firm.Contact); firm != nil || s.Firm.Licence != "" {
		j.Firm = &DocumentFirm{Licence: text(s.Firm.Licence)}
		if firm != nil {
			j.Firm.DocumentContact = *firm
		}
	}
	if s.Site != (jobsheet.Site{}) {
		j.Site = &DocumentSite{Address: text(s.Site.Address), Access: text(s.Site.Access)}
	}
	return j
}

func contactDocument(c jobsheet.Contact) *DocumentContact {
	if c == (jobsheet.Contact{}) {
		return nil
	}
	return &DocumentContact{Name: text(c.Name), Address: text(c.Address), Phone: text(c.Phone), Email: text(c.Email)}
}

func (t *Timeline) clockDocument() DocumentClock {
	d := DocumentClock{Segments: []DocumentSegment{}}
	if t.Clock == nil {
		return d
	}
	d.Basis = text(string(t.Clock.Basis))
	for _, s := range t.Clock.Segments {
		one := DocumentSegment{From: s.From.Seconds(), To: s.To.Seconds()}
		if s.Tied {
			rate, residual := s.RatePPM, s.Residual.Seconds()
			one.Rate, one.Residual = &rate, &residual
			if t.Log == nil || !t.Log.Elapsed && !t.Log.Undated {
				one.LogFrom = text(timecode.FormatTrue(s.LogAtFrom.Time(zoneOf(t.Sheet))))
			}
		}
		d.Segments = append(d.Segments, one)
	}
	return d
}

func (t *Timeline) distanceDocument() DocumentDistance {
	track := t.Track
	d := DocumentDistance{Readings: []DocumentReading{}, SetAside: []DocumentReading{}, Unread: []DocumentUnread{}, Resets: []DocumentReset{}}
	var sources []string
	for _, s := range track.Sources() {
		sources = append(sources, string(s))
		if s == distance.FromPicture {
			d.Confirmed = &t.Sheet.Counter.Confirmed
		}
	}
	d.Basis = text(strings.Join(sources, ", "))
	for i, r := range track.Readings() {
		state := "read"
		if r.Unsure {
			state = "filled"
		}
		d.Readings = append(d.Readings, DocumentReading{Video: r.At.Seconds(), Distance: *metres(track.Place(i)), Source: string(r.Source), State: state})
	}
	for _, r := range track.Thrown() {
		d.SetAside = append(d.SetAside, DocumentReading{Video: r.At.Seconds(), Distance: *metres(r.Shown), Source: string(r.Source), State: "set aside"})
	}
	for _, g := range track.Gaps() {
		d.Unread = append(d.Unread, DocumentUnread{From: g[0].Seconds(), To: g[1].Seconds()})
	}
	for _, r := range track.Resets() {
		var place *float64
		if r.Place != nil {
			place = metres(*r.Place)
		}
		d.Resets = append(d.Resets, DocumentReset{Place: place, Before: r.Before.Seconds(), After: r.After.Seconds(), ShownFrom: *metres(r.From), ShownTo: *metres(r.To)})
	}
	return d
}

func observationDocument(o Observation) DocumentObservation {
	d := DocumentObservation{
		Number: o.Number, Row: o.Row, Video: o.Video.Seconds(),
		Uncertainty: o.Uncertainty.Seconds(), Basis: string(o.Basis), Hidden: o.Hidden, Unconfirmed: o.Unconfirmed,
		What: text(o.Entry.What.Text), Kind: text(o.Entry.What.Key), Code: text(o.Entry.What.Code),
		Urgency: text(string(o.Entry.Urgency)), Note: text(o.Entry.Note), Size: text(o.Entry.Size),
		Spoken: []DocumentSpoken{}, Photos: []string{}, ByPerson: byPerson(o.Entry), Added: text(o.Entry.Added),
		StillTime: seconds(o.Entry.Still), ClipFrom: seconds(o.Entry.ClipFrom), ClipTo: seconds(o.Entry.ClipTo),
	}
	d.VideoEnd = seconds(o.VideoEnd)
	if o.Distance != nil {
		d.Distance = metres(*o.Distance)
	}
	if o.DistanceTo != nil {
		d.DistanceTo = metres(*o.DistanceTo)
	}
	if o.Track != nil {
		d.Track = metres(*o.Track)
	}
	if o.Entry.Depth != nil {
		d.Depth = metres(o.Entry.Depth.Metres)
	}
	if c := o.Entry.Clock; c != nil {
		d.ClockFrom, d.ClockTo = &c.From, &c.To
	}
	if o.TrueTime != nil {
		d.TrueTime = text(timecode.FormatTrue(*o.TrueTime))
	}
	return d
}

func (t *Timeline) unplacedDocument(u Unplaced, language *words.Language) DocumentUnplaced {
	d := DocumentUnplaced{Row: u.Row, Cause: language.Put(u.Cause), ByPerson: []string{}, Spoken: []DocumentSpoken{}, Photos: []string{}}
	if e := u.Entry; e != nil {
		d.What, d.Kind, d.Urgency, d.Note = text(e.What.Text), text(e.What.Key), text(string(e.Urgency)), text(e.Note)
		d.Distance, d.ByPerson = t.ownDistance(e), byPerson(e)
	}
	return d
}

func (t *Timeline) asideDocument(a Aside) DocumentAside {
	e := a.Entry
	return DocumentAside{
		Row: a.Row, Added: text(e.Added), What: text(e.What.Text), Kind: text(e.What.Key),
		Distance: t.ownDistance(e), Urgency: text(string(e.Urgency)), Note: text(e.Note),
	}
}

// ownDistance is a row's own distance, corrected; nil where it has none.
func (t *Timeline) ownDistance(e *fieldlog.Row) *float64 {
	if e.Distance == nil {
		return nil
	}
	correct := distance.Correction{Zero: t.Sheet.Distance.Zero, Taped: t.Sheet.Distance.Taped}
	return metres(correct.Apply(e.Distance.Metres))
}

// byPerson names the fields of a row that a person gave the value of.
func byPerson(e *fieldlog.Row) []string {
	fields := map[string][]string{
		"video": {"video_s"}, "distance": {"distance_m"}, "to": {"distance_to_m"}, "what": {"what", "kind", "code"},
		"clock": {"clock_from", "clock_to"}, "urgency": {"urgency"}, "note": {"note"}, "size": {"size"}, "depth": {"depth_m"}, "time": {"time"},
		"spoken": {"spoken"}, "photo": {"photos"},
	}
	names := []string{}
	for _, column := range e.Corrected {
		names = append(names, fields[column]...)
	}
	if e.Still != nil {
		names = append(names, "still_s")
	}
	if e.ClipFrom != nil {
		names = append(names, "clip_from_s", "clip_to_s")
	}
	return names
}

func seconds(v *timecode.Video) *float64 {
	if v == nil {
		return nil
	}
	s := v.Seconds()
	return &s
}

// some makes an empty list stand as [] and not as null.
func some(names []string) []string {
	if names == nil {
		return []string{}
	}
	return names
}

// text is s, or null for nothing.
func text(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}

// metres is m to a tenth of a millimetre, so that 40.5 ft doesn't come out as 12.344400000000001.
func metres(m distance.Metres) *float64 {
	rounded := math.Round(float64(m)*1e4) / 1e4
	return &rounded
}

// forward makes a file's name one that every system reads.
func forward(file string) string { return path.Clean(strings.ReplaceAll(file, `\`, "/")) }
