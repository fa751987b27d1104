package timeline

import (
	"context"
	"path"
	"sort"
	"time"

	"pushcue/timeline/belief"
	"pushcue/timeline/clock"
	"pushcue/timeline/codes"
	"pushcue/timeline/distance"
	"pushcue/timeline/fault"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// Resolve places the log on the recording. The error is a fault.List when the
// job sheet asks for something that can't be (the program ends with 4), or
// ctx's own error; rows that find no place are no error but Unplaced.
func Resolve(ctx context.Context, in Input) (*Timeline, error) {
	r := newResolver(in)
	steps := []func() error{r.shown, r.tie, func() error { return r.placeRows(ctx) }, r.displayTrack}
	for _, step := range steps {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if err := step(); err != nil {
			return nil, err
		}
	}
	r.remarks()
	return r.t, nil
}

// A resolver is a timeline in the making.
type resolver struct {
	in          Input
	sheet       *jobsheet.Sheet
	zone        *time.Location
	spans       []clock.Span
	calendar    calendar
	correction  distance.Correction
	track       *distance.Track // independent of the log
	unconfirmed bool            // it was read from the picture, and nobody has said that it's right
	t           *Timeline
	tied        []clock.Anchor                       // the sheet's anchors
	question    *belief.Question                     // nil without a log
	belief      *belief.Answer                       // by row of the log
	passed      map[[2]distance.Metres][]belief.Span // by distance and tolerance, since rows are weighed again and again
}

func newResolver(in Input) *resolver {
	sheet := in.Sheet
	if sheet == nil {
		sheet = jobsheet.Default()
	}
	r := &resolver{passed: map[[2]distance.Metres][]belief.Span{}, in: in, sheet: sheet, calendar: newCalendar(sheet, in.Log, in.Recording.Parts)}
	r.zone = r.calendar.zone
	r.correction = distance.Correction{Zero: sheet.Distance.Zero, Taped: sheet.Distance.Taped}
	for i, p := range in.Recording.Parts {
		end := in.Recording.End
		if i+1 < len(in.Recording.Parts) {
			end = in.Recording.Parts[i+1].Start
		}
		r.spans = append(r.spans, clock.Span{Start: p.Start, End: end, Name: path.Base(p.File)})
	}
	r.t = &Timeline{Sheet: sheet, Log: in.Log, Recording: in.Recording}
	return r
}

func (r *resolver) warn(w Warning) { r.t.Warnings = append(r.t.Warnings, w) }

// length is a distance as sentences show it.
func (r *resolver) length(m distance.Metres) words.Sentence { return m.Shown(r.sheet.Job.Units) }

// shown settles what the customer gets.
func (r *resolver) shown() error {
	end := r.in.Recording.End
	r.t.ShowTo = end
	if from := r.sheet.Recording.ShowFrom; from != nil {
		r.t.ShowFrom = *from
	}
	if to := r.sheet.Recording.ShowTo; to != nil {
		r.t.ShowTo = *to
		if *to > end {
			r.t.ShowTo = end
			r.warn(Warning{Code: codes.ShowToPastEnd,
				Text: words.Tell("show_to is %s, but the recording ends at %s; it's shown to its end", *to, end)})
		}
	}
	if len(r.in.Recording.Frames) > 0 && r.t.ShowFrom >= r.t.ShowTo {
		return fault.Of(fault.Fault{File: r.sheet.File, Column: "recording.show_from", Value: r.t.ShowFrom.String(),
			Text: words.Tell("nothing is left to show: the recording is shown to %s", r.t.ShowTo),
			Hint: words.Tell("show_from and show_to are times in the joined recording, like \"1:10\"")})
	}
	return nil
}

// displayTrack shows the placed rows' own distances where nothing better is
// known. It places no row.
func (r *resolver) displayTrack() error {
	if r.track != nil {
		return nil
	}
	var rs []distance.Reading
	for _, o := range r.t.Observations {
		if d := o.Entry.Distance; d != nil {
			rs = append(rs, distance.Reading{At: o.Video, Shown: d.Metres, Source: distance.FromLog, Row: o.Row, Half: o.Uncertainty})
		}
	}
	track, aside, err := distance.NewTrack(rs, r.trackOptions())
	if err != nil {
		return r.inSheet(err)
	}
	r.t.Track = track
	r.warnAside(aside)
	return nil
}

// DistanceAt is where the camera was at v, and how well that is known.
func (t *Timeline) DistanceAt(v timecode.Video) distance.Point { return t.Track.At(v) }

// FrameAt is the frame that is on the screen at v: the last one whose time is
// at or before v. It is shown from at until until. Before the first frame it is
// the first, after the end the last.
func (t *Timeline) FrameAt(v timecode.Video) (index int, at, until timecode.Video) {
	frames := t.Recording.Frames
	if len(frames) == 0 {
		return 0, 0, t.Recording.End
	}
	index = max(0, sort.Search(len(frames), func(i int) bool { return frames[i] > v })-1)
	until = t.Recording.End
	if index+1 < len(frames) {
		until = frames[index+1]
	}
	return index, frames[index], until
}
