package handover

import (
	"bytes"
	"context"
	"path"
	"slices"
	"strings"

	"pushcue/internal/handover/account"
	"pushcue/internal/shelf"
	"pushcue/subtitles"
	"pushcue/timeline/timecode"
)

// sidecars are the notes beside the videos, which players load by themselves.
type sidecars struct {
	*making
	plansNothing
	joinsNothing
	beside []string // the captioned video
}

// A sidecar is what the notes beside one video cover.
type sidecar struct {
	video    string // in the handover
	from, to timecode.Video
	endings  []string
	captions bool // beside the captioned video
}

// finish writes the notes that players load by themselves. Those of a kind
// that isn't wanted this time are kept where they are still right.
func (s *sidecars) finish(ctx context.Context) error {
	for _, one := range s.planned() {
		cues := subtitles.Cues(s.placed.Timeline, s.lang, one.from, one.to)
		if len(cues) == 0 {
			continue // nothing was seen: a file without a note would look broken
		}
		for _, ending := range one.endings {
			name := beside(one.video, ending)
			text, err := sidecarText(ending, cues)
			if err != nil {
				return err
			}
			if s.wants["subtitles"] {
				err = s.shelf.Text(ctx, name, text)
			} else {
				_, err = s.shelf.Has(ctx, name, shelf.SumOf(text))
			}
			if err != nil {
				return err
			}
			if one.captions && s.isThere(name) {
				s.beside = append(s.beside, name)
			}
		}
	}
	return nil
}

func (s *sidecars) enter(made *account.Made) {
	made.Subtitles = s.beside
	for i := range made.AsFilmed {
		if name := beside(made.AsFilmed[i].File, ".srt"); s.isThere(name) {
			made.AsFilmed[i].Subtitles = append(made.AsFilmed[i].Subtitles, name)
		}
	}
}

// planned go beside each video that is there. Where notes alone were asked
// for, they are written for the videos that would be.
func (s *sidecars) planned() []sidecar {
	alone := slices.Contains(s.opts.Only, "subtitles") && !s.wants["video"]
	var all []sidecar
	t := s.placed.Timeline
	// Captions that show the notes already would say everything twice.
	if t.Sheet.Captions.Show != "all" {
		videos := s.videos
		if len(videos) == 0 && alone && !s.opts.Quick {
			videos = []part{{name: s.videoName(0, 1), from: t.ShowFrom, to: t.ShowTo}}
		}
		for _, v := range videos {
			all = append(all, sidecar{video: v.name, from: v.from, to: v.to, endings: []string{".srt", ".vtt"}, captions: true})
		}
	}
	for _, a := range s.filmed {
		if s.isThere(a.name) || alone {
			all = append(all, sidecar{video: a.name, from: a.from, to: a.to, endings: []string{".srt"}})
		}
	}
	return all
}

func sidecarText(ending string, cues []subtitles.Cue) ([]byte, error) {
	var b bytes.Buffer
	var err error
	if ending == ".srt" {
		err = subtitles.WriteSRT(&b, cues)
	} else {
		err = subtitles.WriteWebVTT(&b, cues)
	}
	return b.Bytes(), err
}

// beside is the name of a file that a player finds by a video's name.
func beside(video, ending string) string { return strings.TrimSuffix(video, path.Ext(video)) + ending }
