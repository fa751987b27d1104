package timeline

import (
	"pushcue/timeline/clock"
	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// tie ties the log's clock to the recording by the best that the job offers:
// anchors; the known start; the log's agreement with a track; the files' own
// times last. The track comes on the way, since its readings may go by the log's
// clock themselves.
func (r *resolver) tie() error {
	if err := r.tieBySheet(); err != nil {
		return err
	}
	if r.t.Clock == nil && r.readingsNeedClock() {
		r.tieByFileTimes()
	}
	if err := r.readings(); err != nil {
		return err
	}
	r.weigh()
	if r.t.Clock == nil {
		r.tieByTrack()
	}
	if r.t.Clock == nil && !r.readingsNeedClock() {
		if r.tieByFileTimes(); r.t.Clock != nil {
			r.weigh()
		}
	}
	r.t.Late = r.late()
	r.askForAnchor()
	r.proposeByStands()
	r.t.civil = r.civilTime()
	return nil
}

// tieBySheet ties by what the job sheet says.
func (r *resolver) tieBySheet() error {
	switch {
	case len(r.sheet.Anchors) > 0:
		anchors, faults := r.anchors()
		if len(faults) > 0 {
			return faults.Err()
		}
		fit, err := clock.Tie(r.spans, anchors, r.clockOptions())
		if err != nil {
			return r.inSheet(err)
		}
		r.t.Clock, r.tied = fit, anchors
	case r.sheet.Recording.Starts != nil:
		at, half, f := r.calendar.moment(r.sheet.Recording.Starts)
		if f != nil {
			f.File, f.Column = r.sheet.File, "recording.starts"
			return fault.Of(*f)
		}
		r.t.Clock = clock.FromStart(r.spans, at, half, r.clockOptions())
	}
	return nil
}

func (r *resolver) clockOptions() clock.Options {
	o := clock.Options{}
	if !r.calendar.elapsed {
		o.Zone = r.calendar.zone
	}
	for i := range r.in.Recording.Parts {
		began, _ := r.recorderBegan(i, asWritten)
		o.Began = append(o.Began, began)
	}
	if r.byPicture() {
		o.Weak = words.Tell("%s, which is weak evidence", r.recorderTimes())
	}
	return o
}

// inSheet names the job sheet in faults that don't name a file yet.
func (r *resolver) inSheet(err error) error {
	faults, ok := fault.In(err)
	if !ok {
		return err
	}
	for i := range faults {
		if faults[i].File == "" {
			faults[i].File = r.sheet.File
		}
	}
	return faults.Err()
}
