package timeline

import (
	"fmt"
	"path"

	"pushcue/timeline/clock"
	"pushcue/timeline/fault"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// anchors turns the sheet's anchors into moments on both clocks.
func (r *resolver) anchors() ([]clock.Anchor, fault.List) {
	var anchors []clock.Anchor
	var faults fault.List
	for i, a := range r.sheet.Anchors {
		one, f := r.anchor(a)
		if f != nil {
			f.File, f.Line = r.sheet.File, a.Line
			if f.Column == "" {
				f.Column = fmt.Sprintf("anchor %d", i+1)
			}
			faults = append(faults, *f)
			continue
		}
		one.Number = i + 1
		switch {
		case a.Row > 0:
			one.Name = words.Tell("anchor %d (row %d)", i+1, a.Row)
		case a.Log != nil:
			one.Name = words.Tell("anchor %d (%s)", i+1, a.Log.Text)
		default:
			one.Name = words.Tell("anchor %d", i+1)
		}
		anchors = append(anchors, one)
	}
	return anchors, faults
}

func (r *resolver) anchor(a jobsheet.Anchor) (clock.Anchor, *fault.Fault) {
	var one clock.Anchor
	if a.Row > 0 {
		row := r.row(a.Row)
		switch {
		case row == nil:
			return one, &fault.Fault{Value: fmt.Sprintf("row = %d", a.Row), Text: words.Tell("the log has no row %d", a.Row),
				Hint: words.Tell("count the log's rows of data from 1, without the header")}
		case row.Time == nil:
			return one, &fault.Fault{Value: fmt.Sprintf("row = %d", a.Row), Text: words.Tell("row %d of the log has no time", a.Row),
				Hint: words.Tell(`take a row with a time, or give the log's time itself: log = "10:07:31"`)}
		}
		one.Log, one.LogHalf = row.Time.Log, row.Time.Half
	} else if a.Log != nil {
		l, half, f := r.calendar.moment(a.Log)
		if f != nil {
			return one, f
		}
		one.Log, one.LogHalf = l, max(half, a.LogHalf)
	}
	// A player that showed 5:14 was somewhere up to 5:15.
	from, until, f := r.partOf(a.Part)
	if f != nil {
		return one, f
	}
	one.Video, one.VideoHalf = from+a.Video+timecode.Video(a.Half), a.Half
	if from+a.Video >= until {
		return one, &fault.Fault{Value: a.Video.String(),
			Text: words.Tell("this lies past the end: there are only %s", until-from), Hint: words.Tell("give the time in the joined recording, or name the part: part = \"part2.mp4\"")}
	}
	return one, nil
}

func (r *resolver) row(number int) *fieldlog.Row {
	if r.in.Log == nil {
		return nil
	}
	for i := range r.in.Log.Rows {
		if r.in.Log.Rows[i].Number == number {
			return &r.in.Log.Rows[i]
		}
	}
	return nil
}

// partOf is where a named part lies in the recording; the whole recording for "".
func (r *resolver) partOf(name string) (from, until timecode.Video, f *fault.Fault) {
	if name == "" {
		return 0, r.in.Recording.End, nil
	}
	for i, p := range r.in.Recording.Parts {
		if p.File == name || path.Base(p.File) == path.Base(name) {
			return r.spans[i].Start, r.spans[i].End, nil
		}
	}
	return 0, 0, &fault.Fault{Value: name, Text: words.Tell("the recording has no part of this name"), Hint: words.Tell("name the file as the recording's parts are named")}
}
