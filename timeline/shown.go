package timeline

import (
	"time"

	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// Shown is the recorder's own clock as it stands written on the picture, at the
// first frame of a part.
type Shown struct {
	At    time.Time // as written, in UTC for want of a zone; of day 1 of year 1 where no date is shown
	Dated bool
}

// recorderBegan is when part i began by the recorder's clock, on the local clock: by
// what is written on the picture, else by what the file says, as read makes it out.
// false where neither tells.
func (r *resolver) recorderBegan(i int, read func(time.Time, *time.Location) time.Time) (time.Time, bool) {
	p := r.in.Recording.Parts[i]
	if s := p.Shown; s != nil {
		if s.Dated {
			return asLocal(s.At, r.zone), true
		}
		if d, ok := r.dayShown(); ok {
			t := s.At
			return time.Date(d.Year, d.Month, d.Day, t.Hour(), t.Minute(), t.Second(), t.Nanosecond(), r.zone), true
		}
	}
	if p.Began.IsZero() {
		return time.Time{}, false
	}
	return read(p.Began, r.zone), true
}

// dayShown is the day that a time without a date is taken to be of: the job's, else
// that of the log's first row.
func (r *resolver) dayShown() (timecode.Date, bool) {
	if d := r.sheet.Job.Date; d.Year != 0 {
		return timecode.Date{Year: d.Year, Month: d.Month, Day: d.Day}, true
	}
	if r.calendar.rows && !r.calendar.elapsed {
		return dateOf(r.calendar.first.Time(r.zone)), true
	}
	return timecode.Date{}, false
}

// byPicture tells that the recorder's clock was read off the picture.
func (r *resolver) byPicture() bool {
	for _, p := range r.in.Recording.Parts {
		if p.Shown != nil {
			return true
		}
	}
	return false
}

// recorderTimes is what the recorder's times are called in sentences.
func (r *resolver) recorderTimes() words.Sentence {
	if r.byPicture() {
		return words.Tell("the recorder's clock as the picture shows it")
	}
	return words.Tell("the times found in the files")
}
