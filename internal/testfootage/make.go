package testfootage

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
)

// makeIn encodes the frames straight to path, or by way of a first file where
// ffmpeg can't do it in one go.
func (s Spec) makeIn(ctx context.Context, path string) error {
	first := path
	if s.PreRoll > 0 {
		first = filepath.Join(filepath.Dir(path), "whole."+s.Container)
	}
	if err := s.encode(ctx, first); err != nil {
		return err
	}
	if s.PreRoll > 0 {
		if err := s.hidePreRoll(ctx, first, path); err != nil {
			return err
		}
		os.Remove(first)
	}
	if s.Rotation != 0 {
		return Turn(path, s.Rotation)
	}
	return nil
}

func (s Spec) encode(ctx context.Context, path string) error {
	switch s.Codec {
	case "h264-fields":
		return s.encodeFields(ctx, path)
	case "mpeg4-packed":
		return s.encodePacked(ctx, path)
	}
	return run(ctx, func(w io.Writer) error {
		p := newPainter(s)
		for i := -s.PreRoll; i < s.Frames; i++ {
			if _, err := w.Write(p.paint(i)); err != nil {
				return err
			}
		}
		return nil
	}, s.args(path)...)
}

// hidePreRoll copies the recording from the first frame to be shown on: what
// lies between it and the key frame before is kept, and hidden by an edit list.
func (s Spec) hidePreRoll(ctx context.Context, from, to string) error {
	at := float64(s.PreRoll) * float64(s.Rate.Den) / float64(s.Rate.Num)
	return run(ctx, nil, "-ss", fmt.Sprintf("%.6f", at), "-i", from, "-map", "0", "-c", "copy",
		"-output_ts_offset", seconds(s.StartOffset), to)
}

// run runs ffmpeg and feeds it what feed writes.
func run(ctx context.Context, feed func(io.Writer) error, args ...string) error {
	all := append([]string{"-nostdin", "-hide_banner", "-v", "error", "-y", "-filter_threads", "1"}, args...)
	cmd := exec.CommandContext(ctx, "ffmpeg", all...)
	var said bytes.Buffer
	cmd.Stderr = &said
	var fed error
	if feed != nil {
		pipe, err := cmd.StdinPipe()
		if err != nil {
			return err
		}
		if err := cmd.Start(); err != nil {
			return fmt.Errorf("%w (scripts/test installs what tests need)", err)
		}
		fed = feed(pipe)
		pipe.Close()
	} else if err := cmd.Start(); err != nil {
		return fmt.Errorf("%w (scripts/test installs what tests need)", err)
	}
	if err := cmd.Wait(); err != nil {
		return fmt.Errorf("ffmpeg %q: %w: %s", args, err, said.String())
	}
	return fed
}

// Encode runs ffmpeg with args and feeds its standard input with what feed
// writes; for footage that isn't numbered frames.
func Encode(ctx context.Context, feed func(io.Writer) error, args ...string) error {
	return run(ctx, feed, args...)
}
