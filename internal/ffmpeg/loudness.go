package ffmpeg

import (
	"bytes"
	"context"
	"io"
	"math"
	"strconv"
	"time"
)

// A Loudness is how loud a sound file is from beginning to end, by ITU-R BS.1770 as
// EBU R 128 uses it.
type Loudness struct {
	Integrated float64 // in LUFS; -70 or less where there is nothing to be heard
	TruePeak   float64 // in dBTP; -Inf for silence
	Duration   time.Duration
}

// silent is the absolute gate of ITU-R BS.1770-4, in LUFS: what is quieter isn't heard.
const silent = -70

// Silent reports whether nothing is to be heard.
func (l Loudness) Silent() bool { return l.Integrated <= silent }

// Loudness listens to the whole file. Its Duration is what came out of the decoder,
// and Result tells what the decoder complained of.
func (t *Tools) Loudness(ctx context.Context, s *Sound) (Loudness, Result, error) {
	// One branch is measured, the other tells how long all of it is: the meter hands
	// on whole tenths of a second only.
	path, index := s.input()
	heard := "[0:" + strconv.Itoa(index) + "]" + Unbroken + ",aresample=48000,asplit[meter][whole];" +
		"[meter]ebur128=peak=true:metadata=1,ametadata=mode=print:file=-,anullsink;[whole]anull[out]"
	args := []string{"-protocol_whitelist", protocols, "-format_whitelist", soundFormats, "-i", "file:" + path,
		"-filter_complex", heard, "-map", "[out]", "-f", "null", "-"}
	l := Loudness{Integrated: silent, TruePeak: math.Inf(-1)}
	result, err := t.Do(ctx, s.HeardBy(Run{
		Args:     args,
		Stdout:   func(r io.Reader) error { return eachLine(ctx, r, l.read) },
		Progress: func(p Progress) { l.Duration = p.Time },
	}))
	return l, result, err
}

// Unbroken is the filter that sets a sound's samples one after the other, whatever
// times its file gives them: those of a damaged one may leap by hours.
const Unbroken = "asetpts=N/SR/TB"

// read takes one line of what the meter prints: the last of each kind holds.
func (l *Loudness) read(line []byte) error {
	key, value, _ := bytes.Cut(line, []byte("="))
	n, err := strconv.ParseFloat(string(value), 64)
	if err != nil || math.IsNaN(n) {
		return nil
	}
	switch string(key) {
	case "lavfi.r128.I":
		l.Integrated = max(n, silent)
	case "lavfi.r128.true_peak":
		l.TruePeak = 20 * math.Log10(n)
	}
	return nil
}
