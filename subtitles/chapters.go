package subtitles

import (
	"bufio"
	"fmt"
	"io"

	"pushcue/timeline"
	"pushcue/timeline/timecode"
	"pushcue/timeline/wording"
	"pushcue/timeline/words"
)

// longestTitle is as much as a player's list shows, and more.
const longestTitle = 120

// Chapters names the stretches of a file that shows the recording from from up to
// to: one from each observation to the next, after a first one from the file's start,
// since players expect it there. Observations on one frame share a chapter. There is
// none without observations.
func Chapters(t *timeline.Timeline, lang *words.Language, from, to timecode.Video) []Chapter {
	said := wording.In(lang, t)
	chapters := []Chapter{{Title: lang.Say("start")}}
	named := false
	for i := range t.Observations {
		o := &t.Observations[i]
		if o.Hidden || o.Video < from || o.Video >= to {
			continue
		}
		title := clean(said.Label(o))
		if at := said.Where(o); at != "" {
			title += ", " + at
		}
		at := o.Video - from
		last := &chapters[len(chapters)-1]
		switch {
		case at.FrameMillis() > last.From.FrameMillis():
			last.To = at
			chapters = append(chapters, Chapter{From: at, Title: title})
		case !named:
			last.Title = title
		default:
			last.Title += " · " + title
		}
		named = true
	}
	if !named {
		return nil
	}
	chapters[len(chapters)-1].To = to - from
	return chapters
}

// WriteChapters writes chapters as ffmpeg's own metadata file, in milliseconds.
func WriteChapters(w io.Writer, chapters []Chapter) error {
	b := bufio.NewWriter(w)
	b.WriteString(";FFMETADATA1\n")
	for _, c := range chapters {
		fmt.Fprintf(b, "[CHAPTER]\nTIMEBASE=1/1000\nSTART=%d\nEND=%d\ntitle=%s\n",
			c.From.FrameMillis(), max(c.To.FrameMillis(), c.From.FrameMillis()+1), safe(shorten(c.Title), ffmetadata))
	}
	return b.Flush()
}

func shorten(title string) string {
	if r := []rune(title); len(r) > longestTitle {
		return string(r[:longestTitle-1]) + "…"
	}
	return title
}
