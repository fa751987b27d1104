package handover

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/handover/account"
	"pushcue/internal/job"
	"pushcue/internal/reach"
	"pushcue/internal/shelf"
	"pushcue/subtitles"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// A part is one file of the captioned video.
type part struct {
	name     string
	from, to timecode.Video // on the recording's time
}

// captionedVideo is the recording with place and time burned in.
type captionedVideo struct {
	*making
	key    string
	encode *encode // nil: not to be made
}

func (cv *captionedVideo) plan(ctx context.Context) error {
	t := cv.placed.Timeline
	place, err := scriptSum(cv.captions.video.PlaceScript(t.ShowFrom, t.ShowTo))
	if err != nil {
		return err
	}
	first, last := cv.shownFrames()
	cv.key = shelf.KeyOf("video", cv.sourceKeys(), cv.slow, first, last, cv.soundKey(), cv.encoderKey(cv.encoding.Most), place, shapeOf(cv.captions.video), cv.chapters(), cv.limit())
	have, err := cv.lookFor(ctx)
	if err != nil || have || cv.opts.Quick || !cv.wants["video"] {
		return err
	}
	cv.need += cv.job.RecordedBytes() * 3 / 2
	cv.encode = &encode{
		temp: filepath.Join(cv.shelf.Temp.Path(), "video.mp4"), layout: cv.captions.video, chapters: cv.chapters(),
		first: first, last: last, sound: cv.hasSound(),
	}
	return nil
}

// lookFor finds the parts of the video that are there already.
func (cv *captionedVideo) lookFor(ctx context.Context) (have bool, err error) {
	names := cv.shelf.Record.MadeOf(cv.key)
	if len(names) == 0 {
		names = []string{cv.videoName(0, 1)}
	}
	if have, err = cv.haveAll(ctx, cv.key, names...); err != nil || !have {
		return false, err
	}
	slices.SortFunc(names, func(a, b string) int { return job.NaturalCompare(a, b) })
	for _, name := range names {
		from := cv.placed.Timeline.ShowFrom
		if e := cv.shelf.Record.Files[name]; e.Key == cv.key {
			from = e.At
		}
		cv.videos = append(cv.videos, part{name: name, from: from})
	}
	cv.closeParts()
	return true, nil
}

func (cv *captionedVideo) join(b *burn) (err error) {
	if cv.encode == nil {
		return nil
	}
	t := cv.placed.Timeline
	cv.encode.script, err = cv.writeScript("video.ass", cv.captions.video.PlaceScript(t.ShowFrom, t.ShowTo))
	b.encodes = append(b.encodes, cv.encode)
	return err
}

func (cv *captionedVideo) finish(ctx context.Context) error {
	if cv.encode == nil {
		return nil
	}
	return cv.publishVideo(ctx, cv.encode.temp)
}

func (cv *captionedVideo) enter(made *account.Made) {
	for _, v := range cv.videos {
		made.Videos = append(made.Videos, account.Film{File: v.name, From: v.from})
	}
}

func (m *making) videoName(i, n int) string {
	if n == 1 {
		return path.Join("video", m.base+".mp4")
	}
	return path.Join("video", m.base+"_"+strconv.Itoa(i+1)+".mp4")
}

// closeParts lets each part of the captioned video end where the next begins.
func (cv *captionedVideo) closeParts() {
	for i := range cv.videos {
		cv.videos[i].to = cv.placed.Timeline.ShowTo
		if i+1 < len(cv.videos) {
			cv.videos[i].to = cv.videos[i+1].from
		}
	}
}

// chapters are the captioned video's, in ffmpeg's own form; nil without any.
func (m *making) chapters() []byte {
	t := m.placed.Timeline
	list := subtitles.Chapters(t, m.lang, t.ShowFrom, t.ShowTo)
	if len(list) == 0 {
		return nil
	}
	var b bytes.Buffer
	if err := subtitles.WriteChapters(&b, list); err != nil {
		return nil
	}
	return b.Bytes()
}

// publishVideo puts the captioned video into the handover: whole, or in parts
// that every drive can hold.
func (cv *captionedVideo) publishVideo(ctx context.Context, tmp string) error {
	info, err := os.Stat(tmp)
	if err != nil {
		return err
	}
	t := cv.placed.Timeline
	if info.Size() <= cv.limit() {
		cv.videos = []part{{name: cv.videoName(0, 1), from: t.ShowFrom, to: t.ShowTo}}
		return cv.shelf.Publish(ctx, shelf.Piece{Name: cv.videos[0].name, Key: cv.key, Temp: tmp, At: t.ShowFrom, Encoded: cv.encoding.record()})
	}
	cuts, err := cv.split(ctx, tmp, info.Size())
	if err != nil {
		return err
	}
	cv.videos = nil
	pieces := make([]shelf.Piece, len(cuts))
	for i, c := range cuts {
		from := t.ShowFrom + c.from
		cv.videos = append(cv.videos, part{name: cv.videoName(i, len(cuts)), from: from})
		pieces[i] = shelf.Piece{Name: cv.videos[i].name, Key: cv.key, Temp: c.tmp, At: from, Pieces: len(cuts), Encoded: cv.encoding.record()}
	}
	cv.closeParts()
	return cv.shelf.Publish(ctx, pieces...)
}

// split cuts a video at key frames into parts below the limit. How many bytes lie
// between two key frames isn't known beforehand, so that it is cut into equal
// numbers of frames, and into one part more while one comes out too large.
func (cv *captionedVideo) split(ctx context.Context, video string, size int64) ([]cut, error) {
	keys, frames, err := cv.keyFrames(ctx, video)
	if err != nil {
		return nil, err
	}
	for n := int(size/cv.limit()) + 1; n <= len(keys); n++ {
		cuts := cutInto(n, keys, frames)
		for i := range cuts {
			cuts[i].tmp = filepath.Join(cv.shelf.Temp.Path(), fmt.Sprintf("part%d.mp4", i))
		}
		cv.progress.Step(words.Tell("splitting the video"), float64(len(cuts)))
		if err := copyOut(ctx, cv.tools, video, cuts, func(n int) { cv.progress.Advance(float64(n)) }); err != nil {
			return nil, err
		}
		if fits, err := allBelow(cv.limit(), cuts); fits || err != nil {
			return cuts, err
		}
	}
	return nil, fmt.Errorf("the video can't be split into parts of at most %d bytes", cv.limit())
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

func (cv *captionedVideo) keyFrames(ctx context.Context, video string) (keys []keyFrame, frames int, err error) {
	media, err := cv.tools.Probe(ctx, reach.Ours(video))
	if err != nil {
		return nil, 0, err
	}
	base := media.Video.TimeBase
	_, err = cv.tools.Packets(ctx, media, media.Video.Index, func(p ffmpeg.Packet) error {
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
