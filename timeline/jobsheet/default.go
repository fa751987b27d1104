package jobsheet

import (
	"time"

	"pushcue/timeline/distance"
)

// Default is the sheet of a job that has none: metres, English, this computer's zone.
func Default() *Sheet {
	return &Sheet{
		Job:      Job{Zone: time.Local, Units: distance.Metre, Language: "en"},
		Log:      Log{Lag: 30 * time.Second}, // common practice, no published source: written 5 to 30 s after it was seen
		Distance: Distance{Fastest: 1.5},
		Counter:  Counter{Look: "auto"},
		Stills:   Stills{Window: time.Second},
		Clips:    Clips{Lead: 2 * time.Second, Tail: 4 * time.Second},
		Captions: Captions{Strip: "above", Show: "place", Encode: "fast"},
	}
}

// WithoutContacts returns a copy that leaves out who the customer is and how to get in,
// for a reader who isn't the customer.
func (s *Sheet) WithoutContacts() *Sheet {
	other := *s
	other.Customer, other.Site.Access = Contact{}, ""
	return &other
}

// Zone returns the zone of the site; a sheet without one counts in UTC.
func (s *Sheet) Zone() *time.Location {
	if s.Job.Zone == nil {
		return time.UTC
	}
	return s.Job.Zone
}
