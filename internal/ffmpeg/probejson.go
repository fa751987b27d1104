package ffmpeg

import (
	"encoding/json"
	"fmt"
	"math/big"
	"strconv"
	"strings"
	"time"

	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// probeAnswer is ffprobe's JSON, as far as it is of use.
type probeAnswer struct {
	Streams []probeStream `json:"streams"`
	Format  struct {
		Name     string            `json:"format_name"`
		Start    string            `json:"start_time"`
		Duration string            `json:"duration"`
		Tags     map[string]string `json:"tags"`
	} `json:"format"`
}

type probeStream struct {
	Index       int            `json:"index"`
	Type        string         `json:"codec_type"`
	Codec       string         `json:"codec_name"`
	Width       int            `json:"width"`
	Height      int            `json:"height"`
	SAR         string         `json:"sample_aspect_ratio"`
	PixelFormat string         `json:"pix_fmt"`
	FieldOrder  string         `json:"field_order"`
	Range       string         `json:"color_range"`
	Space       string         `json:"color_space"`
	Primaries   string         `json:"color_primaries"`
	Transfer    string         `json:"color_transfer"`
	Nominal     string         `json:"r_frame_rate"`
	Mean        string         `json:"avg_frame_rate"`
	TimeBase    string         `json:"time_base"`
	Start       string         `json:"start_time"`
	Frames      string         `json:"nb_frames"`
	Duration    string         `json:"duration"`
	SampleRate  string         `json:"sample_rate"`
	Channels    int            `json:"channels"`
	Disposition map[string]int `json:"disposition"`
	SideData    []struct {
		Rotation json.Number `json:"rotation"`
	} `json:"side_data_list"`
	Tags map[string]string `json:"tags"`
}

// parseProbe reads ffprobe's JSON and picks the picture and the sound. Its errors
// are sentences about the file.
func parseProbe(b []byte) (*Media, error) {
	var a probeAnswer
	if err := json.Unmarshal(b, &a); err != nil {
		return nil, words.Errorf("what this file says of itself can't be read")
	}
	m := &Media{
		Format:   a.Format.Name,
		Start:    seconds(a.Format.Start),
		Duration: max(0, seconds(a.Format.Duration)),
		Tags:     map[string]string{},
	}
	picture, sound := pick(a.Streams)
	if picture == nil {
		return nil, noPicture(sound != nil)
	}
	for key, value := range a.Format.Tags {
		m.Tags[strings.ToLower(key)] = value
	}
	m.Created = created(m.Tags["creation_time"], picture.Tags["creation_time"])
	m.Video = picture.video()
	if m.Video.TimeBase.Num <= 0 || m.Video.TimeBase.Den <= 0 {
		return nil, words.Errorf("the picture in this file has no clock")
	}
	m.Others = others(a.Streams, picture)
	if sound != nil {
		audio := sound.audio()
		m.Audio = &audio
	}
	return m, nil
}

// pick chooses the recording's picture and sound: neither a cover nor a preview, what the
// file calls its default, as players do, and among equals the largest picture.
func pick(streams []probeStream) (picture, sound *probeStream) {
	for i := range streams {
		s := &streams[i]
		switch {
		case s.Type == "video" && s.isPicture() && (picture == nil || s.better(picture)):
			picture = s
		case s.Type == "audio" && s.Codec != "" && s.Channels > 0 && (sound == nil || s.Disposition["default"] > sound.Disposition["default"]):
			sound = s
		}
	}
	return picture, sound
}

func (s *probeStream) isPicture() bool {
	const most = 32768 // no recorder's picture is as wide
	return s.Disposition["attached_pic"] == 0 && s.Disposition["timed_thumbnails"] == 0 && s.Disposition["still_image"] == 0 &&
		s.Codec != "" && s.Width > 0 && s.Height > 0 && s.Width <= most && s.Height <= most
}

func (s *probeStream) better(than *probeStream) bool {
	if one, other := s.Frames == "1", than.Frames == "1"; one != other {
		return other
	}
	if a, b := s.Disposition["default"], than.Disposition["default"]; a != b {
		return a > b
	}
	return s.Width*s.Height > than.Width*than.Height
}

// others describes the pictures in a file that aren't the one taken, "720×576 h264" each.
func others(streams []probeStream, taken *probeStream) []string {
	var all []string
	for i := range streams {
		if s := &streams[i]; s.Type == "video" && s.isPicture() && s != taken && s.Frames != "1" {
			all = append(all, fmt.Sprintf("%d×%d %s", s.Width, s.Height, s.Codec))
		}
	}
	return all
}

func (s *probeStream) video() VideoStream {
	v := VideoStream{
		Index: s.Index, Codec: s.Codec, Width: s.Width, Height: s.Height,
		SAR:      ratio(s.SAR, ":"),
		TimeBase: ratio(s.TimeBase, "/"), Nominal: ratio(s.Nominal, "/"), Mean: ratio(s.Mean, "/"),
		FieldOrder: s.FieldOrder, PixelFormat: s.PixelFormat,
		Color: Color{Range: known(s.Range), Space: known(s.Space), Primaries: known(s.Primaries), Transfer: known(s.Transfer)},
	}
	if v.SAR.Num <= 0 || v.SAR.Den <= 0 {
		v.SAR = timecode.Rate{Num: 1, Den: 1}
	}
	if v.FieldOrder == "unknown" {
		v.FieldOrder = ""
	}
	v.Claimed, _ = strconv.ParseInt(s.Frames, 10, 64)
	v.Start = seconds(s.Start)
	for _, d := range s.SideData {
		if turn, err := d.Rotation.Float64(); err == nil {
			v.Rotation = clockwise(turn)
		}
	}
	return v
}

// clockwise turns ffprobe's rotation, in degrees anticlockwise, into the quarter
// turn clockwise that sets the picture upright.
func clockwise(rotation float64) int {
	if !(rotation >= -360 && rotation <= 360) {
		return 0
	}
	quarters := int(-rotation/90+4.5) % 4
	return quarters * 90
}

func known(s string) string {
	if s == "unknown" || s == "unspecified" || s == "reserved" {
		return ""
	}
	return s
}

// ratio reads 30000/1001 or 16:15; anything else is the zero Rate.
func ratio(text, mark string) timecode.Rate {
	a, b, ok := strings.Cut(text, mark)
	if !ok {
		return timecode.Rate{}
	}
	num, err1 := strconv.ParseInt(a, 10, 32)
	den, err2 := strconv.ParseInt(b, 10, 32)
	if err1 != nil || err2 != nil || num <= 0 || den <= 0 {
		return timecode.Rate{}
	}
	return timecode.Rate{Num: int(num), Den: int(den)}
}

// seconds reads a decimal number of seconds without a detour through a float.
func seconds(text string) time.Duration {
	if len(text) > 40 || strings.ContainsAny(text, "eE/") {
		return 0
	}
	r, ok := new(big.Rat).SetString(text)
	if !ok {
		return 0
	}
	r.Mul(r, big.NewRat(int64(time.Second), 1))
	n := new(big.Int).Quo(r.Num(), r.Denom())
	if !n.IsInt64() {
		return 0
	}
	return time.Duration(n.Int64())
}

// created takes the first time that a clock which was ever set may have shown:
// recorders write 1904 or 1970 when they don't know.
func created(texts ...string) time.Time {
	for _, text := range texts {
		t, err := time.Parse(time.RFC3339Nano, text)
		if err == nil && t.Year() > 1980 {
			return t
		}
	}
	return time.Time{}
}
