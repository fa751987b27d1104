package document

import (
	"fmt"
	"math"
	"path"
	"strings"

	"pushcue/timeline"
	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// Of returns the document of a timeline, its sentences in the given language;
// timeline.json has them in English. What was made of the timeline (hashes, videos,
// stills, clips) is left empty.
func Of(t *timeline.Timeline, language *words.Language) *Document {
	d := &Document{
		Version:      Version,
		Job:          jobOf(t.Sheet),
		Recording:    Recording{Duration: t.Recording.End.Seconds(), Parts: []Part{}},
		Clock:        clockOf(t),
		Distance:     distanceOf(t),
		Observations: []Observation{},
		Unplaced:     []Unplaced{},
		SetAside:     []Aside{},
		Warnings:     []Warning{},
	}
	for _, p := range t.Recording.Parts {
		part := Part{File: forward(p.File), Start: p.Start.Seconds(), Duration: p.Duration.Seconds()}
		if at, known := t.TrueTime(p.Start); known {
			part.TrueTime, part.TrueTimeBasis = text(timecode.FormatTrue(at)), text(string(t.TimeSource(p.Start)))
		}
		d.Recording.Parts = append(d.Recording.Parts, part)
	}
	for _, o := range t.Observations {
		d.Observations = append(d.Observations, observationOf(t, o))
	}
	for _, u := range t.Unplaced {
		d.Unplaced = append(d.Unplaced, unplacedOf(t, u, language))
	}
	for _, a := range t.Aside {
		d.SetAside = append(d.SetAside, asideOf(t, a))
	}
	for _, w := range t.Warnings {
		d.Warnings = append(d.Warnings, WarningOf(w, language))
	}
	return d
}

// WarningOf returns a warning as timeline.json holds it.
func WarningOf(w timeline.Warning, language *words.Language) Warning {
	d := Warning{Code: string(w.Code), Text: language.Put(words.Plain("%s", w.Text)), Hint: text(language.Put(words.Plain("%s", w.Hint)))}
	if w.Row > 0 {
		d.Row = &w.Row
	}
	return d
}

func jobOf(s *jobsheet.Sheet) Job {
	j := Job{
		Reference: text(s.Job.Reference), Units: string(s.Job.Units), Language: s.Job.Language,
		Operator: text(s.Job.Operator), Reason: text(s.Job.Reason), Weather: text(s.Job.Weather),
		Cleaned: text(s.Job.Cleaned), Ended: text(s.Job.Ended),
		Customer: contactOf(s.Customer), ByPerson: some(s.Corrected),
		Line: Line{
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
	if firm := contactOf(s.Firm.Contact); firm != nil || s.Firm.Licence != "" {
		j.Firm = &Firm{Licence: text(s.Firm.Licence)}
		if firm != nil {
			j.Firm.Contact = *firm
		}
	}
	if s.Site != (jobsheet.Site{}) {
		j.Site = &Site{Address: text(s.Site.Address), Access: text(s.Site.Access)}
	}
	return j
}

func contactOf(c jobsheet.Contact) *Contact {
	if c == (jobsheet.Contact{}) {
		return nil
	}
	return &Contact{Name: text(c.Name), Address: text(c.Address), Phone: text(c.Phone), Email: text(c.Email)}
}

func clockOf(t *timeline.Timeline) Clock {
	d := Clock{Segments: []Segment{}}
	if t.Clock == nil {
		return d
	}
	d.Basis = text(string(t.Clock.Basis))
	for _, s := range t.Clock.Segments {
		one := Segment{From: s.From.Seconds(), To: s.To.Seconds()}
		if s.Tied {
			rate, residual := s.RatePPM, s.Residual.Seconds()
			one.Rate, one.Residual = &rate, &residual
			if t.Log == nil || !t.Log.Elapsed && !t.Log.Undated {
				one.LogFrom = text(timecode.FormatTrue(s.LogAtFrom.Time(t.Sheet.Zone())))
			}
		}
		d.Segments = append(d.Segments, one)
	}
	return d
}

func distanceOf(t *timeline.Timeline) Distance {
	track := t.Track
	d := Distance{Readings: []Reading{}, SetAside: []Reading{}, Unread: []Unread{}, Resets: []Reset{}}
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
		d.Readings = append(d.Readings, Reading{Video: r.At.Seconds(), Distance: *metres(track.Place(i)), Source: string(r.Source), State: state})
	}
	for _, r := range track.Thrown() {
		d.SetAside = append(d.SetAside, Reading{Video: r.At.Seconds(), Distance: *metres(r.Shown), Source: string(r.Source), State: "set aside"})
	}
	for _, g := range track.Gaps() {
		d.Unread = append(d.Unread, Unread{From: g[0].Seconds(), To: g[1].Seconds()})
	}
	for _, r := range track.Resets() {
		var place *float64
		if r.Place != nil {
			place = metres(*r.Place)
		}
		d.Resets = append(d.Resets, Reset{Place: place, Before: r.Before.Seconds(), After: r.After.Seconds(), ShownFrom: *metres(r.From), ShownTo: *metres(r.To)})
	}
	return d
}

func observationOf(t *timeline.Timeline, o timeline.Observation) Observation {
	d := Observation{
		Number: o.Number, Row: o.Row, Video: o.Video.Seconds(),
		Uncertainty: o.Uncertainty.Seconds(), Earliest: o.Earliest.Seconds(), Latest: o.Latest.Seconds(), Basis: string(o.Basis), Hidden: o.Hidden, Unconfirmed: o.Unconfirmed,
		What: text(o.Entry.What.Text), Kind: text(o.Entry.What.Key), Code: text(o.Entry.What.Code),
		Urgency: text(string(o.Entry.Urgency)), Note: text(o.Entry.Note), Size: text(o.Entry.Size),
		Spoken: []Spoken{}, Photos: []string{}, ByPerson: byPerson(o.Entry), Added: text(o.Entry.Added),
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
		d.TrueTime, d.TrueTimeBasis = text(timecode.FormatTrue(*o.TrueTime)), text(string(t.TimeSource(o.Video)))
	}
	return d
}

func unplacedOf(t *timeline.Timeline, u timeline.Unplaced, language *words.Language) Unplaced {
	d := Unplaced{Row: u.Row, Cause: language.Put(u.Cause), ByPerson: []string{}, Spoken: []Spoken{}, Photos: []string{}}
	if e := u.Entry; e != nil {
		d.What, d.Kind, d.Urgency, d.Note = text(e.What.Text), text(e.What.Key), text(string(e.Urgency)), text(e.Note)
		d.Distance, d.ByPerson = ownDistance(t, e), byPerson(e)
	}
	return d
}

func asideOf(t *timeline.Timeline, a timeline.Aside) Aside {
	e := a.Entry
	return Aside{
		Row: a.Row, Added: text(e.Added), What: text(e.What.Text), Kind: text(e.What.Key),
		Distance: ownDistance(t, e), Urgency: text(string(e.Urgency)), Note: text(e.Note),
	}
}

// ownDistance is a row's own distance, corrected; nil where it has none.
func ownDistance(t *timeline.Timeline, e *fieldlog.Row) *float64 {
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
