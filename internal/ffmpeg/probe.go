package ffmpeg

import "context"

// Probe asks what the recording at path holds; name is what messages call it. A
// recording that can't be used is a fault.List.
func (t *Tools) Probe(ctx context.Context, path, name string) (*Media, error) { return nil, nil }
