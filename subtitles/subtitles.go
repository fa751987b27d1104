// Package subtitles puts words on time: cues that can be read, and the files
// that carry them. It writes to an io.Writer and opens nothing.
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
	From, To timecode.Video
	Title    string
}
