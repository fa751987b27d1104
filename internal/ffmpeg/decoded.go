package ffmpeg

import (
	"bytes"
	"context"
	"io"
	"strconv"
	"time"

	"pushcue/internal/reach"
)

// A Decoding is what Decoded reads.
type Decoding struct {
	From   time.Duration // where to begin, after the container's start; the decoder may come in earlier or later
	Frames int           // at most so many frames; 0: all
	// Fields asks how many of the frames are made of two fields shot one after the other.
	Fields bool
}

// A DecodedFrame is one frame that came out of the decoder. Its time counts ticks
// of the picture's time base.
type DecodedFrame struct {
	PTS    int64
	HasPTS bool
}

// Decoded tells what the decoder makes of a file: it hands every frame that comes
// out to each, in order. It reads the file just as a run over it does, so that both
// see the same frames.
func (t *Tools) Decoded(ctx context.Context, m *Media, d Decoding, each func(DecodedFrame) error) (Fields, Result, error) {
	args := []string{"-noautorotate", "-copyts", "-reinit_filter", "0", "-protocol_whitelist", protocols, "-format_whitelist", formats}
	if d.From > 0 {
		args = append(args, "-noaccurate_seek", "-ss", Seconds(d.From))
	}
	args = append(args, "-i", "file:"+m.Source.Path,
		"-map", "0:"+strconv.Itoa(m.Video.Index), "-fps_mode", "passthrough", "-enc_time_base", "-1")
	if d.Frames > 0 {
		args = append(args, "-frames:v", strconv.Itoa(d.Frames))
	}
	mark := "metadata=mode=add:key=seen:value=1" // a frame without a mark isn't printed
	if d.Fields {
		mark = "idet"
	}
	args = append(args, "-vf", mark+",metadata=mode=print:file=-", "-f", "null", "-")
	var fields Fields
	count := 0
	result, err := t.Do(ctx, Run{Args: args, Sources: []*reach.Source{m.Source}, Stdout: func(r io.Reader) error {
		return eachLine(ctx, r, func(line []byte) error {
			if bytes.HasPrefix(line, []byte("lavfi.idet.")) {
				fields.read(line)
			}
			frame, ok := parseFrame(line)
			if !ok || d.Frames > 0 && count == d.Frames { // the filter may be ahead of the end
				return nil
			}
			count++
			return each(frame)
		})
	}})
	return fields, result, err
}

// parseFrame reads "frame:12   pts:3600    pts_time:0.04"; a frame without a time says NOPTS.
func parseFrame(line []byte) (f DecodedFrame, ok bool) {
	if !bytes.HasPrefix(line, []byte("frame:")) {
		return f, false
	}
	_, rest, found := bytes.Cut(line, []byte(" pts:"))
	rest, _, _ = bytes.Cut(rest, []byte(" "))
	f.PTS, f.HasPTS = ticks(rest)
	return f, found
}

// Fields counts what ffmpeg's detector of interlacing saw in the frames.
type Fields struct{ TopFirst, BottomFirst, Progressive int }

func (f *Fields) read(line []byte) {
	key, value, _ := bytes.Cut(line, []byte("="))
	n, err := strconv.ParseFloat(string(value), 64)
	if err != nil {
		return
	}
	switch string(key) {
	case "lavfi.idet.multiple.tff":
		f.TopFirst = int(n)
	case "lavfi.idet.multiple.bff":
		f.BottomFirst = int(n)
	case "lavfi.idet.multiple.progressive":
		f.Progressive = int(n)
	}
}

// Seconds writes a time for ffmpeg's command line, to the microsecond.
func Seconds(d time.Duration) string { return strconv.FormatFloat(d.Seconds(), 'f', 6, 64) }
