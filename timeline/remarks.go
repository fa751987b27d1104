package timeline

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"pushcue/timeline/codes"
	"pushcue/timeline/distance"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// remarks gathers what a person should know of the job as a whole.
func (r *resolver) remarks() {
	r.remarkVideoRows()
	r.remarkLog()
	r.remarkClock()
	r.remarkParts()
	slices.SortStableFunc(r.t.Warnings, func(a, b Warning) int { return a.Row - b.Row })
}

// remarkVideoRows compares rows placed by the recording's time, or by a person, with what
// else they say.
func (r *resolver) remarkVideoRows() {
	for i := range r.t.Observations {
		o := &r.t.Observations[i]
		switch o.Basis {
		case ByVideo:
			r.compareDistance(o)
			r.compareTime(o)
		case ByPerson:
			r.compareDistance(o)
		}
	}
}

// inThePicture is how far from a moment the track may show a distance that was written
// down at it.
const inThePicture = time.Second

// isShown reports whether the track shows a distance at v, or within half of it.
func (r *resolver) isShown(l *distance.Length, v timecode.Video, half time.Duration) bool {
	for range r.track.Passes(r.correction.Apply(l.Metres), r.tolerance(l), v.Add(-half), v.Add(half)) {
		return true
	}
	return false
}

// compareDistance allows for a second: whoever wrote the time had the picture before them.
func (r *resolver) compareDistance(o *Observation) {
	if o.Entry.Distance == nil || o.Track == nil {
		return
	}
	half := max(o.Uncertainty, inThePicture)
	if !r.isShown(o.Entry.Distance, o.Video, half) {
		r.reportDisagreement(o.Entry, *o.Distance, *o.Track)
	}
}

// compareTime allows for the lag: a row is written after it was seen.
func (r *resolver) compareTime(o *Observation) {
	if o.Entry.Time == nil || r.t.Clock == nil {
		return
	}
	at, half, ok, _ := r.t.Clock.Video(o.Entry.Time.Log, o.Entry.Time.Half)
	late := at.Sub(o.Video)
	if !ok || late <= half+o.Uncertainty+r.sheet.Log.Lag && late >= -half-o.Uncertainty {
		return
	}
	r.warn(Warning{Code: codes.TimesDisagree, Row: o.Row,
		Text: AboutRow(o.Row, words.Tell("the recording's time is %s, but the log's time %s lies at %s; the recording's was believed", o.Entry.Video.Text, o.Entry.Time.Text, at)),
		Hint: words.Tell("correct the one that is wrong, or empty its cell")})
}

func (r *resolver) remarkLog() {
	if r.in.Log == nil {
		r.warn(Warning{Code: codes.LogMissing,
			Text: words.Tell("there is no log: nothing was written down of this push, and nothing is said of what the recording shows"),
			Hint: words.Tell("put the log beside the recording, or add the observations on the page that pushcue review opens")})
		return
	}
	for _, f := range r.in.Log.Faults {
		r.warn(Warning{Code: codes.CellUnreadable, Row: f.Row, Text: f.Told(), Hint: f.Hint, Out: Out{Fault: &f}})
	}
	for _, f := range r.in.Log.Unlisted {
		r.warn(Warning{Code: codes.KindUnlisted, Row: f.Row, Text: f.Told(), Hint: f.Hint, Out: Out{Fault: &f}})
	}
	for _, note := range r.in.Log.Notes {
		r.warn(Warning{Code: codes.LogNote, Text: note})
	}
}

func (r *resolver) remarkClock() {
	fit := r.t.Clock
	if fit != nil {
		for i, s := range fit.SetAside {
			r.warn(Warning{Code: codes.AnchorSetAside, Text: s.Text, Hint: words.Tell("correct the anchor, or leave it out"), Out: Out{Anchor: i + 1}})
		}
		for _, p := range fit.Pauses {
			r.warn(Warning{Code: codes.PauseFound, Text: p.Text, Out: Out{At: []timecode.Video{p.From, p.To}}})
		}
		if fit.Uneven {
			r.warn(Warning{Code: codes.RecordingUneven,
				Text: words.Tell("the recording runs uneven against the log's clock by per cents, as recorders that drop frames do; the anchors were believed")})
		}
		for _, s := range fit.Segments {
			if !s.Tied {
				r.warn(Warning{Code: codes.PartUntied,
					Text: words.Tell("%s: nothing ties the log's clock to the recording from %s to %s", r.spans[s.Part].Name, s.From, s.To),
					Hint: words.Tell("add an [[anchor]] in that part"), Out: Out{At: []timecode.Video{s.From}}})
			}
		}
	}
	if r.t.civil != nil && !r.sheet.Job.ZoneGiven {
		text := words.Tell("times are taken in this computer's time zone, %s", r.zone)
		if r.zone.String() == "Local" { // the computer doesn't tell its name
			text = words.Tell("times are taken in this computer's time zone")
		}
		r.warn(Warning{Code: codes.ZoneAssumed, Text: text,
			Hint: words.Tell(`add zone = "Europe/Lisbon", the zone of the site, under [job]`)})
	}
	if fit != nil && r.calendar.undated {
		r.warn(Warning{Code: codes.DateUnknown,
			Text: words.Tell("nothing tells the day of the log's times, so that no true time can be shown"),
			Hint: words.Tell("add date = 2026-03-02, the day of the push, under [job]")})
	}
}

// remarkOrder asks about parts that stand in the order of their names, while the times
// in the files tell another. Such times may be years off and still tell which was first.
func (r *resolver) remarkOrder() {
	parts := r.in.Recording.Parts
	if len(r.sheet.Recording.Files) > 0 || slices.ContainsFunc(parts, func(p Part) bool { return p.Began.IsZero() }) {
		return
	}
	began := func(a, b Part) int { return a.Began.Compare(b.Began) }
	if slices.IsSortedFunc(parts, began) {
		return
	}
	first := slices.Clone(parts)
	slices.SortStableFunc(first, began)
	var names []string
	for _, p := range first {
		names = append(names, strconv.Quote(p.File))
	}
	r.warn(Warning{Code: codes.RecordingOrder,
		Text: words.Tell("the parts are taken in the order of their names, but by the times found in the files they were filmed in another: %s", strings.Join(names, ", ")),
		Hint: words.Tell("write the right order under [recording] in job.toml: files = [%s]", strings.Join(names, ", "))})
}

func (r *resolver) remarkParts() {
	r.remarkOrder()
	for _, p := range r.in.Recording.Parts {
		if !p.Damage.Empty() {
			r.warn(Warning{Code: codes.RecordingDamaged, Text: words.Plain("%s: %s", p.File, p.Damage),
				Hint: words.Tell("what could be read is used; copy the file from the recorder again if you can")})
		}
	}
}

// warnResets names the moments at which the counter was set anew.
func (r *resolver) warnResets(resets []distance.Reset) {
	for _, s := range resets {
		w := Warning{Code: codes.CounterReset}
		w.Out.At = []timecode.Video{s.Before}
		if s.Place != nil {
			w.Text = words.Tell("between %s and %s the counter goes from %s to %s, as if set anew; distances after it go on from %s, as the job sheet says",
				s.Before, s.After, r.length(s.From), r.length(s.To), r.length(*s.Place))
		} else {
			w.Unsettled = true
			w.Text = words.Tell("between %s and %s the counter goes from %s to %s, as if set anew; distances after it are as it shows them",
				s.Before, s.After, r.length(s.From), r.length(s.To))
			there := r.correction.Apply(s.From)
			w.Hint = words.Tell(`say where the head was then: [[distance.reset]], video = "%s", place = "%s"; or place = "0 m" where that was the start of the line`, s.After.Format(1), there.Format(r.sheet.Job.Units, '.'))
			w.Out.Reset = []distance.KnownReset{{At: s.After, Place: there}, {At: s.After}}
		}
		r.warn(w)
	}
	for _, k := range r.sheet.Distance.Resets {
		if !slices.ContainsFunc(resets, func(s distance.Reset) bool { return s.Place != nil && *s.Place == k.Place }) {
			r.warn(Warning{Code: codes.ResetNotFound,
				Text: words.Tell("[[distance.reset]] at %s: the counter wasn't set anew near that time, so it's left out", k.At),
				Hint: words.Tell("video is the time in the recording at which the counter jumps")})
		}
	}
}

// warnAside names readings that no cable could have reached.
func (r *resolver) warnAside(aside []distance.SetAside) {
	misread := 0
	for _, s := range aside {
		if s.First.Source == distance.FromPicture && !s.Rezeroed {
			misread += s.Count
			continue
		}
		where := words.Tell("reading at %s", s.First.At)
		w := Warning{Code: codes.ReadingImpossible, Hint: words.Tell("correct it, or set fastest under [distance] if the cable really was that fast"), Out: Out{At: []timecode.Video{s.First.At}}}
		switch {
		case s.First.Source == distance.FromLog:
			w.Row = s.First.Row
			where = words.Tell("row %d", s.First.Row)
		case s.First.Row > 0:
			where = words.Tell("reading at %s (row %d of the readings)", s.First.At, s.First.Row)
		}
		shown := r.length(s.First.Shown)
		switch {
		case s.Rezeroed:
			w.Code = codes.CounterReset
			w.Text = words.Tell("from %s to %s the counter jumps by %s and runs on from there, as if set anew; distances there are left out", s.First.At, s.Last.At, r.length(s.Jump))
			w.Hint = words.Tell("check the counter in the recording there")
		case s.Count == 1:
			w.Text = words.Tell("%s: %s would need the cable to move at %.1f m/s; it's left out of the track", where, shown, float64(s.Speed))
		default:
			w.Text = words.Tell("%s: %s and %d more after it would need the cable to move at %.1f m/s; they're left out of the track", where, shown, s.Count-1, float64(s.Speed))
		}
		r.warn(w)
	}
	if misread > 0 {
		w := Warning{Code: codes.CounterMisread, Unsettled: misread > fewMisread && !r.sheet.Counter.Confirmed,
			Text: words.Tell("the on-screen counter was misread in %d looks: no cable could have got there, so they're left out of the track", misread),
			Hint: words.Tell("nothing needs to be done, they are few")}
		if misread > fewMisread {
			w.Hint = words.Tell("see whether it is the counter and whether its unit is right, then write confirmed = true under [counter]")
		}
		r.warn(w)
	}
}

// fewMisread is how many looks may be misread without a question: two seconds of them. More
// are a sign that the number isn't the counter, or counts in another unit.
const fewMisread = 10
