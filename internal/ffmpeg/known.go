package ffmpeg

import (
	"context"
	_ "embed"
	"strings"

	"pushcue/internal/reach"
	"pushcue/timeline/words"
)

// knownGood is a recording that every fit ffmpeg reads: two pictures of 16 by 16 pixels,
// Motion JPEG in QuickTime, as ffmpeg's own encoder writes them.
//
//go:embed known.mov
var knownGood []byte

// knownFrames is how many pictures it holds.
const knownFrames = 2

// Check has both programs read a small recording that is known to be good, just as any
// recording is read. It fails with *Error where they can't: what they made of a job's
// recording then says nothing about that recording. It takes two short processes, so it
// is asked only where the programs' word alone would blame a file.
func (t *Tools) Check(ctx context.Context) error {
	dir, done, err := tempFolder()
	if err != nil {
		return err
	}
	defer done()
	const name = "known.mov"
	source := reach.Ours(dir.At(name))
	if err := dir.WritePrivate(name, knownGood); err != nil {
		return tempTrouble(dir.Path(), err)
	}
	answer, said, err := t.ask(ctx, source, formats)
	if err := stopped(ctx, err); err != nil {
		return err
	}
	media, parseErr := parseProbe(answer)
	if err != nil || parseErr != nil || media.Video.Width != 16 {
		return t.unfit("ffprobe", said)
	}
	media.Source = source
	frames := 0
	_, result, err := t.Decoded(ctx, media, Decoding{}, func(DecodedFrame) error { frames++; return nil })
	if err := stopped(ctx, err); err != nil {
		return err
	}
	if err != nil || frames != knownFrames {
		return t.unfit("ffmpeg", result.Said)
	}
	return nil
}

// unfit blames a program, whose answers kept from earlier don't hold any more.
func (t *Tools) unfit(program, said string) error {
	t.forget()
	text := words.Tell("%s can't read even a recording that is known to be good", program)
	if last := lastLine(strings.TrimSpace(said)); last != "" {
		text = words.Tell("%s can't read even a recording that is known to be good: %s", program, last)
	}
	return &Error{Text: text, Hint: words.Tell("install another build of ffmpeg, 5.1 or newer, and run the command again"), Stderr: said}
}
