package ffmpeg

import (
	"maps"

	ff "github.com/u2takey/ffmpeg-go"
)

// A recording may be a text list in disguise that names other files, or the
// network: only these ways of reading and these containers are let through.
const (
	protocols = "file,pipe"
	formats   = "mov,mp4,m4a,3gp,3g2,mj2,avi,matroska,webm,mpegts,mpeg,asf,flv,dv,mxf"
)

// Input reads a local file of an expected kind. options are ffmpeg's input
// options without the dash: "ss", "copyts" …; a path may hold any character.
func Input(path string, options ...ff.KwArgs) *ff.Stream {
	args := ff.KwArgs{"protocol_whitelist": protocols, "format_whitelist": formats}
	for _, o := range options {
		maps.Copy(args, o)
	}
	return ff.Input("file:"+path, args)
}

// Output writes streams to a local file. options are ffmpeg's output options
// without the dash; numbers that aren't whole go in as text, since the library
// writes them with an exponent.
func Output(streams []*ff.Stream, path string, options ...ff.KwArgs) *ff.Stream {
	return ff.Output(streams, "file:"+path, options...)
}

// OutputPipe writes streams to Run.Stdout.
func OutputPipe(streams []*ff.Stream, options ...ff.KwArgs) *ff.Stream {
	return ff.Output(streams, "pipe:1", options...)
}
