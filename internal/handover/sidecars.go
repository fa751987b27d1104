package handover

import (
	"bytes"
	"context"
	"path"
	"slices"
	"strings"

	"pushcue/internal/shelf"
	"pushcue/subtitles"
	"pushcue/timeline/timecode"
)

// A sidecar is what the notes beside one video cover.
type sidecar struct {
	video    string // in the handover
	from, to timecode.Video
	endings  []string
	captions bool // beside the captioned video
}

// writeSidecars writes the notes that players load by themselves. Those of a kind
// that isn't wanted this time are kept where they are still right.
func (m *maker) writeSidecars(ctx context.Context) error {
	m.sidecars = nil
	for _, s := range m.plannedSidecars() {
		cues := subtitles.Cues(m.placed.Timeline, m.lang, s.from, s.to)
		if len(cues) == 0 {
			continue // nothing was seen: a file without a note would look broken
		}
		for _, ending := range s.endings {
			name := beside(s.video, ending)
			text, err := sidecarText(ending, cues)
			if err != nil {
				return err
			}
			if m.wants["subtitles"] {
				err = m.folder.Text(ctx, name, text)
			} else {
				_, err = m.folder.Has(ctx, name, shelf.SumOf(text))
			}
			if err != nil {
				return err
			}
			if s.captions && m.isThere(name) {
				m.sidecars = append(m.sidecars, name)
			}
		}
	}
	return nil
}

// plannedSidecars go beside each video that is there. Where notes alone were asked
// for, they are written for the videos that would be.
func (m *maker) plannedSidecars() []sidecar {
	alone := slices.Contains(m.opts.Only, "subtitles") && !m.wants["video"]
	var all []sidecar
	t := m.placed.Timeline
	// Captions that show the notes already would say everything twice.
	if t.Sheet.Captions.Show != "all" {
		videos := m.videos
		if len(videos) == 0 && alone && !m.opts.Quick {
			videos = []part{{name: m.videoName(0, 1), from: t.ShowFrom, to: t.ShowTo}}
		}
		for _, v := range videos {
			all = append(all, sidecar{video: v.name, from: v.from, to: v.to, endings: []string{".srt", ".vtt"}, captions: true})
		}
	}
	for _, a := range m.asFilmed {
		if m.isThere(a.name) || alone {
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

// chapters are the captioned video's, in ffmpeg's own form; nil without any.
func (m *maker) chapters() []byte {
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

// beside is the name of a file that a player finds by a video's name.
func beside(video, ending string) string { return strings.TrimSuffix(video, path.Ext(video)) + ending }
