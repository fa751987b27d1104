// Package subtitles puts words on time: cues that can be read, and the files
// that carry them. It writes to an io.Writer and opens nothing.
//
//	cues := subtitles.Cues(t, english, t.ShowFrom, t.ShowTo)
//	err := subtitles.WriteSRT(w, cues)
//
// Text of any kind is shown as written as far as the format can, and acts as code in
// none. It doesn't promise that a note is there whole: what can't be read before the
// next one starts is left to the page.
package subtitles

import "pushcue/timeline/timecode"

// A Cue is text on the picture from one moment to another.
type Cue struct {
	From, To     timecode.Video // on the time of the file it belongs to
	Lines        []string       // at most two, as a person would read them: unescaped
	Observations []int          // numbers of the observations it speaks of
}

// A Chapter is a named stretch of the recording.
type Chapter struct {
	From, To timecode.Video // on the time of the file it belongs to
	Title    string
}
