package timecode

import "time"

// Form is how a time was written.
type Form int

const (
	TimeOfDay Form = iota // 10:07, 10:07:31, 10:07:31.5, 10.07 Uhr, 3:15 pm
	DateTime              // 2026-03-02 10:07:31, with a zone or without
	Elapsed               // more than 24 h can't be a time of day; or told so by its column
)

// Written is a time as somebody wrote it, before a date or a zone is known.
type Written struct {
	Form       Form
	Year       int           // 0 unless Form is DateTime
	Month      time.Month    //
	Day        int           //
	Since      time.Duration // since midnight (24:00 is allowed), or since the clock's zero
	Offset     *int          // seconds east of UTC where one was written
	Resolution time.Duration // 1 min for 10:07, 1 s for 10:07:31, 100 ms for 10:07:31.5
	Text       string
}

// Middle is the moment a written time is taken at: the middle of what it can
// stand for, since a clock that shows 10:07 shows it until 10:08.
func (w Written) Middle() time.Duration { return w.Since + w.Resolution/2 }

// Instants resolves the start of what w can stand for to true instants. day is used
// unless w brings its own date, zone unless it brings its own offset. Two instants
// come back, in order, in the hour that comes twice when summer time ends; none in
// the hour that is skipped when it begins, and for elapsed times.
func (w Written) Instants(day Date, zone *time.Location) []time.Time {
	if w.Form == Elapsed {
		return nil
	}
	if w.Form == DateTime {
		day = Date{w.Year, w.Month, w.Day}
	}
	if w.Offset != nil {
		zone = time.FixedZone("", *w.Offset)
	}
	return day.At(w.Since, zone)
}
