package handover

import (
	"context"
	"fmt"

	"pushcue/timeline"
	"pushcue/timeline/clock"
	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/timecode"
)

// onRecording puts the readings of a file on the recording's time. Those written
// with the log's clock go by the line that ties it, which is found from the log
// alone.
func onRecording(ctx context.Context, rs *fieldlog.Readings, in timeline.Input) ([]distance.Reading, []timeline.Warning, error) {
	var fit *clock.Fit
	for _, r := range rs.Rows {
		if r.Video == nil {
			first, err := timeline.Resolve(ctx, in)
			if err != nil {
				return nil, nil, err
			}
			fit = first.Clock
			break
		}
	}
	var on []distance.Reading
	lost := 0
	for _, r := range rs.Rows {
		at, ok := momentOf(r, in.Recording, fit)
		if !ok {
			lost++
			continue
		}
		on = append(on, distance.Reading{At: at, Shown: r.Distance.Metres, Source: distance.FromFile, Row: r.Number})
	}
	var warnings []timeline.Warning
	for _, f := range rs.Faults {
		warnings = append(warnings, timeline.Warning{Code: "cell-unreadable", Text: f.Error(), Hint: f.Hint, Open: true})
	}
	if lost > 0 {
		warnings = append(warnings, timeline.Warning{
			Code: "reading-unplaced", Open: true,
			Text: fmt.Sprintf("%s: %d of %d readings lie outside the recording, or nothing ties their clock to it", rs.File, lost, len(rs.Rows)),
			Hint: "give the readings the recording's time in a column named video, or add an [[anchor]] to job.toml",
		})
	}
	return on, warnings, nil
}

// momentOf is when a reading was shown.
func momentOf(r fieldlog.Reading, rec timeline.Recording, fit *clock.Fit) (timecode.Video, bool) {
	if r.Video == nil {
		if fit == nil {
			return 0, false
		}
		v, _, ok, _ := fit.Video(r.Time.Log, r.Time.Half)
		return v, ok
	}
	if r.Video.Timecode == nil {
		return r.Video.At, r.Video.At <= rec.End
	}
	rate := rec.Parts[0].Rate
	n, err := r.Video.Timecode.Frame(rate)
	if err != nil {
		return 0, false
	}
	at := rate.FrameTime(n)
	return at, at <= rec.End
}
