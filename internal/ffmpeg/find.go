package ffmpeg

import "context"

// Where says where ffmpeg may be. It is never looked for in the current folder
// or in a job folder.
type Where struct {
	Settings string   // ffmpeg, or the folder that holds it and ffprobe, from the user's settings; "" when not set
	Beside   string   // folder of the pushcue program; "": found by itself
	Not      []string // folders that are never searched, with all below them: the job's
}

// Find finds ffmpeg and ffprobe, 5.1 or newer, with libass and an H.264 encoder.
// Errors are *Error.
func Find(ctx context.Context, w Where) (*Tools, error) { return nil, nil }
