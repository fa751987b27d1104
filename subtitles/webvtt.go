package subtitles

import (
	"bytes"
	"io"
	"strings"
)

// WriteWebVTT writes cues as W3C WebVTT.
func WriteWebVTT(w io.Writer, cues []Cue) error {
	var b bytes.Buffer
	if len(cues) == 0 {
		b.WriteString("WEBVTT\n")
	} else if err := collect(cues, webVTT).WriteToWebVTT(&b); err != nil {
		return err
	}
	_, err := io.WriteString(w, strings.ReplaceAll(b.String(), greater, "&gt;"))
	return err
}
