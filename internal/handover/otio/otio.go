// Package otio holds the part of the OpenTimelineIO format that an edit list of a
// recording needs: tracks of clips and gaps, and markers. The format is described at
// https://opentimelineio.readthedocs.io, under "Serialized Schema Documentation".
//
//	v := otio.NewTrack("recording")
//	v.Children = append(v.Children, otio.NewClip("part1.mp4", shown, otio.File("as-filmed/part1.mp4", all)))
//	err := otio.NewTimeline("2291-b", v).Write(w)
//
// Values are written in the versions of their schemas that readers know since 2022
// (OpenTimelineIO 0.15); newer readers convert them.
package otio

import (
	"encoding/json"
	"io"
	"math"
	"net/url"
	"time"

	"pushcue/timeline/timecode"
)

// A Timeline is a whole file.
type Timeline struct {
	Schema   string         `json:"OTIO_SCHEMA"`
	Name     string         `json:"name"`
	Metadata map[string]any `json:"metadata"`
	Start    *Time          `json:"global_start_time"`
	Tracks   *Item          `json:"tracks"`
}

// An Item is a stack, a track, a clip or a gap, as its schema says.
type Item struct {
	Schema   string         `json:"OTIO_SCHEMA"`
	Name     string         `json:"name"`
	Metadata map[string]any `json:"metadata"`
	Range    *Range         `json:"source_range"` // of a clip: what is played of its media
	Effects  []any          `json:"effects"`
	Markers  []Marker       `json:"markers"`
	Enabled  bool           `json:"enabled"`
	Kind     string         `json:"kind,omitempty"`     // of a track
	Children []*Item        `json:"children,omitempty"` // of a stack or a track
	Media    map[string]Ref `json:"media_references,omitempty"`
	Active   string         `json:"active_media_reference_key,omitempty"`
}

// A Ref says where a clip's media are.
type Ref struct {
	Schema    string         `json:"OTIO_SCHEMA"`
	Name      string         `json:"name"`
	Metadata  map[string]any `json:"metadata"`
	Available *Range         `json:"available_range"`
	URL       string         `json:"target_url,omitempty"`
}

// A Marker is a note on a range of an item, in the item's own time: on a clip it counts as
// the clip's media do.
type Marker struct {
	Schema   string         `json:"OTIO_SCHEMA"`
	Name     string         `json:"name"`
	Metadata map[string]any `json:"metadata"`
	Color    string         `json:"color"`
	Comment  string         `json:"comment,omitempty"`
	Marked   Range          `json:"marked_range"`
	// Older is Marked under the name that it had in the first version of markers. The
	// library as of August 2026 (commit bc5fe2d78dc3) takes markers of the second version
	// for ones of the first when it converts them, and doesn't open the file without it.
	// Other readers ignore fields that they don't know.
	Older *Range `json:"range,omitempty"`
}

// A Range is a start and how long it lasts.
type Range struct {
	Schema   string `json:"OTIO_SCHEMA"`
	Duration Time   `json:"duration"`
	Start    Time   `json:"start_time"`
}

// A Time is Value/Rate seconds.
type Time struct {
	Schema string  `json:"OTIO_SCHEMA"`
	Rate   float64 `json:"rate"`
	Value  float64 `json:"value"`
}

const (
	clipSchema = "Clip.2"
	video      = "Video"
	media      = "DEFAULT_MEDIA" // the key that the reference implementation gives a clip's only media
)

// NewTimeline lays tracks over each other; the last one is on top.
func NewTimeline(name string, tracks ...*Item) *Timeline {
	stack := newItem("Stack.1", "tracks")
	stack.Children = tracks
	return &Timeline{Schema: "Timeline.1", Name: name, Metadata: map[string]any{}, Tracks: stack}
}

// NewTrack is an empty track of pictures.
func NewTrack(name string) *Item {
	t := newItem("Track.1", name)
	t.Kind = video
	return t
}

// NewClip plays a range of some media.
func NewClip(name string, played Range, from Ref) *Item {
	c := newItem(clipSchema, name)
	c.Range, c.Media, c.Active = &played, map[string]Ref{media: from}, media
	return c
}

// NewGap shows nothing for a while.
func NewGap(long Time) *Item {
	g := newItem("Gap.1", "")
	g.Range = &Range{Schema: "TimeRange.1", Duration: long, Start: Time{Schema: long.Schema, Rate: long.Rate}}
	return g
}

func newItem(schema, name string) *Item {
	return &Item{Schema: schema, Name: name, Metadata: map[string]any{}, Effects: []any{}, Markers: []Marker{}, Enabled: true}
}

// NewMarker marks a range of an item. Colours are RED, ORANGE, YELLOW, GREEN, CYAN, BLUE,
// PURPLE, MAGENTA, PINK, WHITE and BLACK.
func NewMarker(name, color, comment string, marked Range, metadata map[string]any) Marker {
	return Marker{Schema: "Marker.2", Name: name, Color: color, Comment: comment, Marked: marked, Older: &marked, Metadata: metadata}
}

// File is media in a file, by its path relative to the timeline's, with forward slashes.
func File(path string, available Range) Ref {
	u := url.URL{Path: path}
	return Ref{Schema: "ExternalReference.1", Metadata: map[string]any{}, Available: &available, URL: u.String()}
}

// Missing is media that lies elsewhere, known by name only.
func Missing(name string, available Range) Ref {
	return Ref{Schema: "MissingReference.1", Name: name, Metadata: map[string]any{}, Available: &available}
}

// Between is the range from one moment of some media to another.
func Between(from, to time.Duration, rate timecode.Rate) Range {
	start, end := At(from, rate), At(to, rate)
	return Range{Schema: "TimeRange.1", Start: start, Duration: Time{Schema: start.Schema, Rate: start.Rate, Value: rounded(end.Value - start.Value)}}
}

// At is a moment counted in frames of a rate. Containers round the times of frames, to a
// millisecond at most: what is that near to a whole frame is that frame. Where frames are
// spaced unevenly, values have a fraction. Without a rate, milliseconds are counted.
func At(d time.Duration, rate timecode.Rate) Time {
	r := rate.Float()
	if r == 0 {
		r = 1000
	}
	value := d.Seconds() * r
	if whole := math.Round(value); math.Abs(value-whole) <= 0.001*r {
		return Time{Schema: "RationalTime.1", Rate: r, Value: whole}
	}
	return Time{Schema: "RationalTime.1", Rate: r, Value: rounded(value)}
}

// rounded is a number of frames to a thousandth.
func rounded(frames float64) float64 { return math.Round(frames*1000) / 1000 }

// Write writes the file; the same timeline gives the same bytes.
func (t *Timeline) Write(w io.Writer) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "    ")
	e.SetEscapeHTML(false)
	return e.Encode(t)
}
