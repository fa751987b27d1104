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
	cv.key = shelf.KeyOf("video", cv.sourceKeys(), cv.slow, first, last, cv.soundKey(), cv.tools.Encoder, cv.encoding.setting, place, shapeOf(cv.captions.video), cv.chapters(), cv.limit())
