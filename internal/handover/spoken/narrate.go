package spoken

import (
	"context"
	"math"
	"strconv"
	"time"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/reach"
	"pushcue/overlay"
)

// pictures is how many a second a narrated still has: enough for players to find
// their place in it.
const pictures = 5

// A Still is a captioned still as it lies in the handover.
type Still struct {
	File          string // a JPEG
	Width, Height int
}

// Narrate writes a film of a still that lasts as long as the note, which is one that
// Write made, and never shorter.
func Narrate(ctx context.Context, tools *ffmpeg.Tools, s Still, note string, long time.Duration, to string) error {
	sound, err := tools.ProbeSound(ctx, reach.Ours(note))
	if err != nil {
		return err
	}
	width, height, level := s.fit()
	shown := math.Ceil(long.Seconds()*pictures) + 1
	picture := ffmpeg.Picture("still.jpg", pictures, time.Duration(shown)*time.Second/pictures).
		// A JPEG's colours are those of ITU-R BT.601 in full range (ITU-T T.871).
		Filter("scale", ff.Args{strconv.Itoa(width), strconv.Itoa(height)}, ff.KwArgs{
			"in_color_matrix": "bt601", "in_range": "pc", "out_color_matrix": "bt709", "out_range": "tv", "flags": "lanczos"}).
		Filter("format", ff.Args{"yuv420p"}).Filter("setsar", ff.Args{"1"})
	how := ff.KwArgs{
		"c:v": tools.Encoder, "profile:v": "high", "pix_fmt": "yuv420p", "g": strconv.Itoa(pictures * 5),
		"color_range": "tv", "colorspace": "bt709", "color_primaries": "bt709", "color_trc": "bt709",
		"c:a": "copy", "f": "mp4", "movflags": "+faststart", "video_track_timescale": "90000",
		"map_metadata": "-1", "map_chapters": "-1", "fflags": "+bitexact",
	}
	if tools.Encoder == "libx264" {
		how["preset"], how["tune"], how["crf"], how["level"] = "veryfast", "stillimage", "20", level
	} else {
		how["b:v"] = strconv.Itoa(width*height/2 + 100_000)
	}
	out := ffmpeg.Output([]*ff.Stream{picture, sound.Stream()}, to, how)
	run := sound.HeardBy(ffmpeg.Run{Outputs: []*ff.Stream{out}, Files: map[string]string{"still.jpg": s.File}})
	if _, err := tools.Do(ctx, run); err != nil {
		return err
	}
	_, err = lasting(ctx, tools, to, long)
	return err
}

// fit is the largest size that ordinary players show.
func (s Still) fit() (width, height int, level string) {
	for width = s.Width / 2 * 2; ; width -= 2 {
		height = max(2, int(math.Round(float64(s.Height)*float64(width)/float64(max(s.Width, 1))/2))*2)
		level, ok := overlay.Level(width, height, pictures)
		if ok || width <= 16 {
			return width, height, level
		}
	}
}
