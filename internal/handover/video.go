package handover

import (
	"context"
	"fmt"
	"os"
	"path/filepath"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/reach"
	"pushcue/internal/shelf"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// publishVideo puts the captioned video into the handover: whole, or in parts
// that every drive can hold.
func (m *maker) publishVideo(ctx context.Context, tmp string) error {
	info, err := os.Stat(tmp)
	if err != nil {
		return err
	}
	t := m.placed.Timeline
	if info.Size() <= m.limit() {
		m.videos = []part{{name: m.videoName(0, 1), from: t.ShowFrom, to: t.ShowTo}}
		return m.folder.Publish(ctx, shelf.Piece{Name: m.videos[0].name, Key: m.videoKey, Temp: tmp, At: t.ShowFrom})
	}
	cuts, err := m.split(ctx, tmp, info.Size())
	if err != nil {
		return err
	}
	m.videos = nil
	pieces := make([]shelf.Piece, len(cuts))
	for i, c := range cuts {
		from := t.ShowFrom + c.from
		m.videos = append(m.videos, part{name: m.videoName(i, len(cuts)), from: from})
		pieces[i] = shelf.Piece{Name: m.videos[i].name, Key: m.videoKey, Temp: c.tmp, At: from, Pieces: len(cuts)}
	}
	m.closeParts()
	return m.folder.Publish(ctx, pieces...)
}

// split cuts a video at key frames into parts below the limit. How many bytes lie
// between two key frames isn't known beforehand, so that it is cut into equal
// numbers of frames, and into one part more while one comes out too large.
func (m *maker) split(ctx context.Context, video string, size int64) ([]cut, error) {
	keys, frames, err := m.keyFrames(ctx, video)
	if err != nil {
		return nil, err
	}
	for n := int(size/m.limit()) + 1; n <= len(keys); n++ {
		cuts := cutInto(n, keys, frames)
		for i := range cuts {
			cuts[i].tmp = filepath.Join(m.tmp, fmt.Sprintf("part%d.mp4", i))
		}
		m.progress.Step(words.Tell("splitting the video"), float64(len(cuts)))
		if err := copyOut(ctx, m.tools, video, cuts, func(n int) { m.progress.Advance(float64(n)) }); err != nil {
			return nil, err
		}
		if fits, err := allBelow(m.limit(), cuts); fits || err != nil {
			return cuts, err
		}
	}
	return nil, fmt.Errorf("the video can't be split into parts of at most %d bytes", m.limit())
}

func allBelow(limit int64, cuts []cut) (bool, error) {
	for _, c := range cuts {
		info, err := os.Stat(c.tmp)
		if err != nil {
			return false, err
		}
		if info.Size() > limit {
			return false, nil
		}
	}
	return true, nil
}

// A keyFrame is where a video can be cut.
type keyFrame struct {
	frame int // frames ahead of it
	at    timecode.Video
}

func (m *maker) keyFrames(ctx context.Context, video string) (keys []keyFrame, frames int, err error) {
	media, err := m.tools.Probe(ctx, reach.Ours(video))
	if err != nil {
		return nil, 0, err
	}
	base := media.Video.TimeBase
	_, err = m.tools.Packets(ctx, media, media.Video.Index, func(p ffmpeg.Packet) error {
		if p.Key {
			at := timecode.Video(p.PTS * 1_000_000_000 / int64(base.Den) * int64(base.Num))
			keys = append(keys, keyFrame{frame: frames, at: at})
		}
		frames++
		return nil
	})
	return keys, frames, err
}

// cutInto makes n cuts of about as many frames each, each at a key frame.
func cutInto(n int, keys []keyFrame, frames int) []cut {
	starts := []keyFrame{keys[0]}
	for _, k := range keys[1:] {
		if k.frame*n >= len(starts)*frames && len(starts) < n {
			starts = append(starts, k)
		}
	}
	cuts := make([]cut, len(starts))
	for i, k := range starts {
		cuts[i] = cut{from: k.at}
		if i+1 < len(starts) {
			cuts[i].count = starts[i+1].frame - k.frame
			cuts[i].long = starts[i+1].at - k.at
		}
	}
	return cuts
}
