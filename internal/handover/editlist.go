package handover

import (
	"bytes"
	"context"
	"path"
	"strings"

	"pushcue/internal/handover/otio"
	"pushcue/internal/shelf"
	"pushcue/timeline"
	"pushcue/timeline/document"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/timecode"
	"pushcue/timeline/wording"
	"pushcue/timeline/words"
)

const editListName = "timeline.otio"

// editList is timeline.otio: the recording, its observations and the excerpts for programs
// that edit video.
type editList struct {
	*making
	plansNothing
	joinsNothing
	entersNothing
	excerpts *excerpts
}

func (e *editList) finish(ctx context.Context) error {
	list := otio.NewTimeline(e.base, append([]*otio.Item{e.recording()}, e.excerptTracks()...)...)
	list.Metadata["pushcue"] = map[string]any{"document": timelineName, "version": document.Version}
	var b bytes.Buffer
	if err := list.Write(&b); err != nil {
		return err
	}
	if !e.wants["otio"] {
		_, err := e.shelf.Has(ctx, editListName, shelf.SumOf(b.Bytes()))
		return err
	}
	return e.shelf.Text(ctx, editListName, b.Bytes())
}

// recording is the track of the recording's parts, as far as the customer gets them, with
// the observations as markers.
func (e *editList) recording() *otio.Item {
	t := e.line()
	said := wording.In(e.lang, t)
	written := document.Of(t, words.English()).Observations
	track := otio.NewTrack(e.lang.Say("page-video"))
	for i, p := range t.Recording.Parts {
		end := p.Start.Add(p.Duration)
		from, to := max(p.Start, t.ShowFrom), min(end, t.ShowTo)
		if from >= to {
			continue
		}
		name, all := path.Base(strings.ReplaceAll(p.File, `\`, "/")), otio.Between(0, p.Duration, p.Rate)
		media := otio.Missing(name, all)
		if i < len(e.filmed) && e.isThere(e.filmed[i].name) {
			media = otio.File(e.filmed[i].name, all)
		}
		clip := otio.NewClip(name, otio.Between(from.Sub(p.Start), to.Sub(p.Start), p.Rate), media)
		for n := range t.Observations {
			if o := &t.Observations[n]; !o.Hidden && p.Start <= o.Video && o.Video < end {
				last := o.Video
				if o.VideoEnd != nil {
					last = min(max(*o.VideoEnd, last), to)
				}
				marked := otio.Between(o.Video.Sub(p.Start), last.Sub(p.Start), p.Rate)
				clip.Markers = append(clip.Markers, otio.NewMarker(said.Label(o), markerColor(written[n]), markerComment(said, o), marked, markerData(written[n])))
			}
		}
		track.Children = append(track.Children, clip)
	}
	return track
}

// markerComment is what a person reads beside a marker.
func markerComment(said *wording.Wording, o *timeline.Observation) string {
	var parts []string
	for _, text := range []string{said.Where(o), said.GiveOrTake(o), said.Advice(o.Entry), said.Note(o.Entry)} {
		if text != "" {
			parts = append(parts, text)
		}
	}
	return strings.Join(parts, " · ")
}

// markerData is what a program reads of a marker, named as in timeline.json.
func markerData(d document.Observation) map[string]any {
	return map[string]any{"pushcue": map[string]any{
		"number": d.Number, "row": d.Row, "kind": d.Kind, "video_s": d.Video, "uncertainty_s": d.Uncertainty, "basis": d.Basis,
		"distance_m": d.Distance, "distance_to_m": d.DistanceTo, "track_m": d.Track, "unconfirmed": d.Unconfirmed,
		"urgency": d.Urgency, "true_time": d.TrueTime, "true_time_basis": d.TrueTimeBasis,
	}}
}

func markerColor(d document.Observation) string {
	if d.Urgency != nil {
		switch fieldlog.Urgency(*d.Urgency) {
		case fieldlog.UrgencyAtOnce:
			return "RED"
		case fieldlog.UrgencyRepair:
			return "ORANGE"
		case fieldlog.UrgencyWatch:
			return "YELLOW"
		}
	}
	return "CYAN"
}

// excerptTracks lay the excerpts over the recording, each where it was filmed; those that
// share a time are on different tracks. An excerpt that wasn't made has its range only.
func (e *editList) excerptTracks() []*otio.Item {
	rec := e.placed.Timeline.Recording
	start := e.placed.Timeline.ShowFrom
	var tracks []*otio.Item
	var ends []timecode.Video
	for _, c := range e.excerpts.clips {
		from, to := rec.Frames[c.excerpt.First], rec.End
		if next := c.excerpt.Last + 1; next < len(rec.Frames) {
			to = rec.Frames[next]
		}
		i := 0
		for i < len(tracks) && ends[i] > from {
			i++
		}
		if i == len(tracks) {
			tracks, ends = append(tracks, otio.NewTrack(e.lang.Say("page-clips"))), append(ends, start)
		}
		rate := rateAt(rec, from)
		if gap := otio.Between(ends[i].Sub(start), from.Sub(start), rate).Duration; gap.Value > 0 {
			tracks[i].Children = append(tracks[i].Children, otio.NewGap(gap))
		}
		all := otio.Between(0, to.Sub(from), rate)
		name := path.Base(c.name)
		media := otio.Missing(name, all)
		if e.isThere(c.name) {
			media = otio.File(c.name, all)
		}
		clip := otio.NewClip(name, all, media)
		clip.Metadata["pushcue"] = map[string]any{"number": c.excerpt.Observation, "row": e.placed.Timeline.Observations[c.excerpt.Observation-1].Row}
		tracks[i].Children = append(tracks[i].Children, clip)
		ends[i] = to
	}
	return tracks
}

// rateAt is the nominal rate of the part that is shown at v.
func rateAt(rec timeline.Recording, v timecode.Video) timecode.Rate {
	var rate timecode.Rate
	for _, p := range rec.Parts {
		if p.Start <= v {
			rate = p.Rate
		}
	}
	return rate
}
