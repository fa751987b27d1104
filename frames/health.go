package frames

import (
	"strings"

	"pushcue/internal/ffmpeg"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// health is what reading and decoding told of a part's state.
type health struct {
	complaints ffmpeg.Result  // of the decoder: over the whole part, or a sample of it
	lost       int            // pictures that the file holds and the decoder doesn't give
	note       words.Sentence // what had to be done to its times; "" when nothing
}

// decoded compares a decoding from end to end with the packets.
func (h *health) decoded(s *scan, frames []ffmpeg.DecodedFrame, result ffmpeg.Result) {
	h.complaints = result
	if len(frames) == 0 || s.missing > 0 || s.repeated > 0 {
		return
	}
	late := 0 // what stands before the first picture that can be decoded isn't lost, but never was whole
	for late < len(s.shown) && s.shown[late] < frames[0].PTS {
		late++
	}
	lost := len(s.shown) - late - len(frames)
	if lost > 0 && lost < len(s.shown)/4 { // half of them gone: two packets a picture
		h.lost = lost
	}
}

// cutOff tells whether the file ends before its contents do.
func (p *Part) cutOff(s *scan) bool {
	return s.condition.CutOff > 0 || p.Media.Format == "avi" && p.Media.Video.Claimed > int64(s.total)+2 && !aviWhole(p.Media)
}

// damage is one sentence on what can't be read; "" when all can.
func (p *Part) damage(s *scan, times []timecode.Video) words.Sentence {
	var found []words.Sentence
	if p.cutOff(s) {
		read := p.Length.Seconds()
		if claimed := p.Media.Duration.Seconds(); claimed > read+0.5 {
			found = append(found, words.Tell("it was cut off: of %s that it says it holds, %s can be read", timecode.VideoSeconds(claimed), timecode.VideoSeconds(read)))
		} else {
			found = append(found, words.Tell("its end was cut off: it can be read as far as %s", timecode.VideoSeconds(read)))
		}
	}
	switch {
	case p.health.lost > 0:
		found = append(found, words.Tell("%d pictures of %d can't be decoded", p.health.lost, len(times)+p.health.lost))
	case len(found) == 0 && (s.condition.Broken > 0 || hurt(p.health.complaints.Said)):
		found = append(found, words.Tell("some of its pictures are damaged, and are shown as far as they can be decoded"))
	}
	if !p.health.note.Empty() {
		found = append(found, p.health.note)
	}
	return words.Join(found, words.Plain("; "))
}

// hurt looks for what a decoder says only of damaged pictures.
func hurt(said string) bool {
	for _, word := range []string{"damaged", "error while decoding", "Error while decoding", "concealing", "corrupt", "Invalid NAL", "overread", "invalid data"} {
		if strings.Contains(said, word) {
			return true
		}
	}
	return false
}
