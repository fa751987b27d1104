package timeline

import (
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// byVideo places a row by the recording's own time.
func (r *resolver) byVideo(row *fieldlog.Row) (place, *cause) {
	written, end := row.Video, r.in.Recording.End
	p := place{at: written.At, basis: ByVideo, timed: true}
	if written.Timecode != nil {
		at, err := r.atLabel(*written.Timecode)
		if err != nil {
			return p, &cause{words.Tell("its timecode %s has no frame (%s)", written.Text, err), words.Tell("write the time as minutes and seconds, 5:14.2")}
		}
		p.at = at
	}
	if p.at < 0 || p.at >= end {
		return p, &cause{words.Tell("its recording time %s lies outside the recording, which is %s long", written.Text, end),
			words.Tell("recording time counts from the first picture of the first part")}
	}
	// A player that showed 5:14 was somewhere up to 5:15.
	p.half = uniform95(p.at, p.at.Add(2*written.Half), p.at)
	p.why = []words.Sentence{words.Tell("The log gives the recording's own time, %s.", written.Text)}
	return p, nil
}

// atLabel is the moment of a SMPTE label, counted at the recording's nominal
// rate from its first frame. A label names a frame, so the nearest one is meant.
func (r *resolver) atLabel(label timecode.SMPTE) (timecode.Video, error) {
	var rate timecode.Rate
	if parts := r.in.Recording.Parts; len(parts) > 0 {
		rate = parts[0].Rate
	}
	n, err := label.Frame(rate)
	if err != nil {
		return 0, err
	}
	at := rate.FrameTime(n)
	_, from, until := r.t.FrameAt(at)
	if at-from > until-at {
		return until, nil
	}
	return at, nil
}
