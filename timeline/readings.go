package timeline

import (
	"slices"

	"pushcue/timeline/codes"
	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// readings makes the track that is independent of the log.
func (r *resolver) readings() error {
	all := slices.Concat(r.in.Readings, r.fromFile())
	all = slices.DeleteFunc(all, func(d distance.Reading) bool { return d.At < 0 || d.At > r.in.Recording.End })
	track, aside, err := distance.NewTrack(all, r.trackOptions())
	if err != nil {
		return r.inSheet(err)
	}
	r.track, r.t.Track, r.t.independent = track, track, track != nil
	r.warnAside(aside)
	r.warnResets(track.Resets())
	r.unconfirmed = !r.sheet.Counter.Confirmed && slices.Contains(track.Sources(), distance.FromPicture)
	if r.unconfirmed {
		r.warn(Warning{Code: codes.CounterUnconfirmed,
			Text: words.Tell("distances were read from the on-screen counter, and nobody has confirmed them yet"),
			Hint: words.Tell("look at the sheet of readings; if they are right, write confirmed = true under [counter]")})
	}
	return nil
}

// readingsNeedClock tells whether the readings file goes by the log's clock.
func (r *resolver) readingsNeedClock() bool {
	file := r.in.ReadingsFile
	return file != nil && (!file.Elapsed || r.calendar.elapsed) &&
		slices.ContainsFunc(file.Rows, func(row fieldlog.Reading) bool { return row.Video == nil })
}

func (r *resolver) trackOptions() distance.TrackOptions {
	return distance.TrackOptions{Correction: r.correction, Fastest: r.sheet.Distance.Fastest, Resets: r.sheet.Distance.Resets}
}

// fromFile puts the rows of a readings file on the recording: by the recording's
// time where they have it, else by the log's clock. A file that counts from its
// own zero is taken to count from the first picture, unless the log counts so too.
func (r *resolver) fromFile() []distance.Reading {
	file := r.in.ReadingsFile
	if file == nil {
		return nil
	}
	var rs []distance.Reading
	counted, lost := false, 0
	for i := range file.Rows {
		row := &file.Rows[i]
		at, ok := timecode.Video(0), false
		switch {
		case row.Video != nil:
			at, ok = r.readAt(row.Video)
		case file.Elapsed && !r.calendar.elapsed:
			at, ok, counted = timecode.Video(row.Time.Log), true, true
		default:
			at, ok = r.onRecording(row.Time.Log)
		}
		if !ok || at < 0 || at > r.in.Recording.End {
			lost++
			continue
		}
		rs = append(rs, distance.Reading{At: at, Shown: row.Distance.Metres, Source: distance.FromFile, Row: row.Number})
	}
	if counted {
		r.warn(Warning{Code: codes.ReadingsFromZero,
			Text: words.Tell("%s: its times count from zero, which is taken to be the first picture of the recording", file.File),
			Hint: words.Tell("name the column video, if that is so")})
	}
	if lost > 0 {
		r.warn(Warning{Code: codes.ReadingUnplaced,
			Text: words.Tell("%s: %d of %d readings lie outside the recording, or nothing ties their clock to it", file.File, lost, len(file.Rows)),
			Hint: words.Tell("give the readings the recording's time in a column named video, or add an [[anchor]]")})
	}
	for _, f := range file.Faults {
		r.warn(Warning{Code: codes.CellUnreadable, Text: f.Told(), Hint: f.Hint})
	}
	return rs
}

func (r *resolver) readAt(v *fieldlog.VideoTime) (timecode.Video, bool) {
	if v.Timecode == nil {
		return v.At, true
	}
	at, err := r.atLabel(*v.Timecode)
	return at, err == nil
}

// onRecording is when the log's clock showed l, by the straight line of its
// segment: what a hundred thousand readings need, without an ± for each.
func (r *resolver) onRecording(l timecode.Log) (timecode.Video, bool) {
	if r.t.Clock == nil {
		return 0, false
	}
	for _, s := range r.t.Clock.Segments {
		at := s.From + timecode.Video(float64(l-s.LogAtFrom)/(1+s.RatePPM*1e-6))
		if s.Tied && s.From <= at && at <= s.To {
			return at, true
		}
	}
	return 0, false
}
