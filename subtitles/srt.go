package subtitles

import (
	"bytes"
	"io"
	"strings"
	"time"

	"github.com/asticode/go-astisub"
)

// WriteSRT writes cues as SubRip: UTF-8 with a byte order mark, lines ended by CR LF,
// as the oldest players want it.
func WriteSRT(w io.Writer, cues []Cue) error {
	var b bytes.Buffer
	if len(cues) == 0 {
		b.Write(astisub.BytesBOM)
	} else if err := collect(cues, srt).WriteToSRT(&b); err != nil {
		return err
	}
	// go-astisub writes HTML's entities, which SubRip doesn't have: players would
	// show them. One pass undoes exactly what it did.
	text := strings.NewReplacer("&lt;", "<", "&amp;", "&", "&nbsp;", "\u00a0", "\n", "\r\n").Replace(b.String())
	if len(cues) > 0 && len(text) < recognised {
		text += strings.Repeat("\r\n", (recognised-len(text)+1)/2)
	}
	_, err := io.WriteString(w, text)
	return err
}

// recognised is how long a file with a cue is made, by empty lines at its end: players
// built on GStreamer 1.22 look at the first 129 bytes to tell what a file is, and show
// nothing of one that has fewer.
const recognised = 130

// collect makes go-astisub's value of cues, every line of text made safe and every
// time a whole millisecond: left to itself it would cut what lies below.
func collect(cues []Cue, f format) *astisub.Subtitles {
	s := astisub.NewSubtitles()
	for _, c := range cues {
		item := &astisub.Item{
			StartAt: time.Duration(c.From.FrameMillis()) * time.Millisecond,
			EndAt:   time.Duration(max(c.To.FrameMillis(), c.From.FrameMillis()+1)) * time.Millisecond,
		}
		for _, line := range c.Lines {
			if text := safe(line, f); text != "" { // an empty line would end the cue
				item.Lines = append(item.Lines, astisub.Line{Items: []astisub.LineItem{{Text: text}}})
			}
		}
		s.Items = append(s.Items, item)
	}
	return s
}
