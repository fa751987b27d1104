package frames

import (
	"context"
	"time"

	"pushcue/internal/ffmpeg"
)

// findFields finds out whether the part's frames are made of two fields shot one
// after the other: as the file says, as its packets show, or, where it says nothing
// and its size is one that interlaced recorders use, as the pictures look.
func (p *Part) findFields(ctx context.Context, tools *ffmpeg.Tools, s *scan) error {
	switch p.Media.Video.FieldOrder {
	case "tt", "bb", "tb", "bt":
		p.Interlaced = true
		return nil
	}
	if p.Media.Video.FieldOrder == "" && s.total >= 2*p.Count-1 && p.Count > 2 {
		p.Interlaced = true // each field in a packet of its own
		return nil
	}
	if !interlacedSize(p.Media.Video) || float64(p.Rate.Num) > 30.5*float64(p.Rate.Den) {
		return nil
	}
	var seen ffmpeg.Fields
	for _, from := range []time.Duration{0, p.Length / 2} {
		fields, _, err := tools.Decoded(ctx, p.Media, ffmpeg.Decoding{From: from, Frames: sampleFrames, Fields: true}, func(ffmpeg.DecodedFrame) error { return nil })
		switch {
		case ctx.Err() == nil && ffmpeg.OfItself(err):
			return err
		case err != nil:
			return ctx.Err() // what can't be seen is taken as progressive
		}
		seen.TopFirst += fields.TopFirst
		seen.BottomFirst += fields.BottomFirst
		seen.Progressive += fields.Progressive
		if p.Count <= sampleFrames {
			break
		}
	}
	const enough = 15
	most := max(seen.TopFirst, seen.BottomFirst)
	if most < enough || most < 4*seen.Progressive || most < 4*min(seen.TopFirst, seen.BottomFirst) {
		return nil
	}
	p.Interlaced, p.fields = true, "tff"
	if seen.BottomFirst > seen.TopFirst {
		p.fields = "bff"
	}
	return nil
}

// interlacedSize tells whether interlaced video comes in pictures as high.
func interlacedSize(v ffmpeg.VideoStream) bool {
	switch v.Height {
	case 480, 486, 576, 1080, 1088:
		return v.Rotation == 0
	}
	return false
}
