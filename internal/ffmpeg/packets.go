package ffmpeg

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"io"
	"strconv"
	"strings"

	"pushcue/internal/reach"
)

// A Packet is one packet of a stream, as the container holds it, in the order of
// decoding. Times count ticks of the stream's time base.
type Packet struct {
	PTS, DTS       int64
	HasPTS, HasDTS bool
	Duration       int64 // 0 when not given
	Size           int64 // bytes
	Key            bool
	Discard        bool // needed for decoding, never shown
	Corrupt        bool
}

// A Condition is what reading a file's packets told of its health.
type Condition struct {
	CutOff int    // complaints that the file ends before its contents do
	Broken int    // complaints that something in it is missing, or can't be read
	Odd    int    // complaints of what may do no harm: only decoding tells
	Said   string // the end of what was said
}

// Packets reads the packets of one stream, without decoding, and hands each to each.
// A file that ends too early is read as far as it goes.
func (t *Tools) Packets(ctx context.Context, m *Media, stream int, each func(Packet) error) (Condition, error) {
	// Named as its output, the pipe is written to in blocks; standard output itself
	// gets a write for every packet.
	args := append([]string{"-v", "warning", "-select_streams", strconv.Itoa(stream),
		"-show_entries", "packet=pts,dts,duration,size,flags", "-of", "compact=p=0", "-o", "pipe:1"}, whitelisted(m.Source, formats)...)
	var c Condition
	complaints := &listener{alive: new(counter), complaint: c.hear}
	p := process{path: t.FFprobe, args: args, sources: []*reach.Source{m.Source}, stall: t.Patience, stderr: complaints, stdout: func(r io.Reader) error {
		return eachLine(ctx, r, func(line []byte) error {
			if p, ok := parsePacket(line); ok {
				return each(p)
			}
			return nil
		})
	}}
	err := p.run(ctx)
	c.Said = complaints.said()
	if neverRan(err) {
		t.forget()
	}
	return c, ended("ffprobe", complaints, err)
}

// ReadThrough reads the packets of one stream to the end of the file and counts them: a
// third of the work of having each of them told.
func (t *Tools) ReadThrough(ctx context.Context, m *Media, stream int) (packets int64, c Condition, err error) {
	args := append([]string{"-hide_banner", "-v", "warning", "-nostats", "-progress", "pipe:2"}, quiet...)
	args = append(args, "-protocol_whitelist", protocols, "-format_whitelist", formats, "-copyts", "-i", "file:"+m.Source.Path,
		"-map", "0:"+strconv.Itoa(stream), "-c", "copy", "-copyinkf", "-f", "null", "-")
	l := &listener{alive: new(counter), complaint: c.hear}
	p := process{path: t.FFmpeg, args: args, sources: []*reach.Source{m.Source}, stall: t.Patience, stderr: l, alive: l.alive}
	err = p.run(ctx)
	if neverRan(err) {
		t.forget()
	}
	if c.CutOff+c.Broken+c.Odd > 0 {
		c.Said = l.said()
	}
	return l.now.Frame, c, ended("ffmpeg", l, err)
}

// hear sorts a complaint. Those of a decoder are passed over: only the beginning was
// decoded, and a stream that was joined late complains there as a matter of course.
func (c *Condition) hear(line string) {
	switch {
	case strings.Contains(line, "partial file"), strings.Contains(line, "ended prematurely"):
		c.CutOff++
	case strings.Contains(line, "EBML"), strings.Contains(line, "exceeds containing"),
		strings.Contains(line, "rror reading"), strings.Contains(line, "Input/output error"):
		c.Broken++
	case strings.HasPrefix(line, "[NULL @"), // a parser, which sees the whole file
		strings.Contains(line, "Packet corrupt"):
		c.Odd++
	}
}

// parsePacket reads pts=0|dts=-2048|duration=1024|size=512|flags=K_. Lines that aren't a
// packet (side data ends with empty ones) are passed over.
func parsePacket(line []byte) (p Packet, ok bool) {
	for len(line) > 0 {
		var field []byte
		field, line, _ = bytes.Cut(line, []byte("|"))
		key, value, found := bytes.Cut(field, []byte("="))
		if !found {
			continue
		}
		switch string(key) {
		case "pts":
			p.PTS, p.HasPTS = ticks(value)
			ok = true
		case "dts":
			p.DTS, p.HasDTS = ticks(value)
			ok = true
		case "duration":
			p.Duration, _ = ticks(value)
			p.Duration = max(0, p.Duration)
		case "size":
			p.Size, _ = ticks(value)
		case "flags":
			flags := string(value)
			p.Key = strings.Contains(flags, "K")
			p.Discard = strings.Contains(flags, "D")
			p.Corrupt = strings.Contains(flags, "C")
		}
	}
	return p, ok
}

// ticks reads a count of ticks; N/A is none. Counts beyond 2^62 are no times.
func ticks(b []byte) (int64, bool) {
	n, err := strconv.ParseInt(string(b), 10, 64)
	if err != nil || n > 1<<62 || n < -1<<62 {
		return 0, false
	}
	return n, true
}

// eachLine hands lines over until ctx ends; longer ones than any of ours are cut.
func eachLine(ctx context.Context, r io.Reader, each func([]byte) error) error {
	lines := bufio.NewReaderSize(r, 64<<10)
	for n := 0; ; n++ {
		if n%1024 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		line, err := lines.ReadSlice('\n')
		for errors.Is(err, bufio.ErrBufferFull) {
			_, err = lines.ReadSlice('\n')
		}
		if line = bytes.TrimRight(line, "\r\n"); len(line) > 0 {
			if err := each(line); err != nil {
				return err
			}
		}
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
	}
}
