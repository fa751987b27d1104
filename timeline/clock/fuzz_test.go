package clock

import (
	"encoding/binary"
	"math"
	"testing"
	"time"

	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// FuzzTie reads anchors and parts out of any bytes: whatever they say, the fit
// ties or refuses, and all that it tells are numbers within the recording.
func FuzzTie(f *testing.F) {
	f.Add([]byte{})
	f.Add(anchorBytes(0, 0, 0, 0))
	f.Add(anchorBytes(1000, 50, 1000, 0, 2000, 50, 2000, 0))                                     // two good ones
	f.Add(anchorBytes(1000, 50, 1000, 0, 1000, 50, 1000, 0))                                     // the same twice
	f.Add(anchorBytes(900_000, 3000, 500_000, 0, 100_000, 3000, 600_000, 0))                     // crossing
	f.Add(anchorBytes(9e5, 50, 9e5, 4, 12e5, 50, 12e5, 4, 19e5, 50, 16e5, 4, 22e5, 50, 19e5, 4)) // a pause
	f.Add(anchorBytes(math.MaxInt32, math.MaxInt16, 0, 1, math.MinInt32, -1, math.MaxInt32, 1))  // as far as numbers go
	f.Add(anchorBytes(7e5, 0, 7e5, 0, 17e5, 0, 16.5e5, 0, 33e5, 0, 32e5, 0, 10e5, 0, 20e5, 0))   // no two alike
	f.Fuzz(func(t *testing.T, b []byte) {
		var anchors []Anchor
		for ; len(b) >= 12 && len(anchors) < 10; b = b[12:] {
			anchors = append(anchors, Anchor{
				Name:      words.Tell("anchor"),
				Log:       timecode.Log(far(int32(binary.LittleEndian.Uint32(b)))),
				LogHalf:   time.Duration(int16(binary.LittleEndian.Uint16(b[4:]))) * 10 * time.Millisecond,
				Video:     timecode.Video(far(int32(binary.LittleEndian.Uint32(b[6:])))),
				VideoHalf: time.Duration(int16(binary.LittleEndian.Uint16(b[10:]))) * 10 * time.Millisecond,
			})
		}
		fit, err := Tie(recording(10, 0, 30, 20), anchors, Options{})
		if err != nil {
			if fit != nil || err.Error() == "" {
				t.Errorf("refused with %q and a fit", err)
			}
			return
		}
		checkFit(t, fit, anchors)
	})
}

// far is n milliseconds, and the ends of time where n is at its end.
func far(n int32) int64 {
	switch n {
	case math.MaxInt32:
		return math.MaxInt64
	case math.MinInt32:
		return math.MinInt64
	}
	return int64(n) * int64(time.Millisecond)
}

// anchorBytes writes anchors for the fuzzer: log ms, half 10 ms, video ms, half 10 ms.
func anchorBytes(values ...float64) []byte {
	var b []byte
	for i, v := range values {
		if i%2 == 0 {
			b = binary.LittleEndian.AppendUint32(b, uint32(int32(v)))
		} else {
			b = binary.LittleEndian.AppendUint16(b, uint16(int16(v)))
		}
	}
	return b
}

// checkFit asks a fit all it can be asked.
func checkFit(t *testing.T, fit *Fit, anchors []Anchor) {
	t.Helper()
	end := fit.parts[len(fit.parts)-1].End
	var to timecode.Video
	for _, s := range fit.Segments {
		if s.From != to || s.To < s.From || math.IsNaN(s.RatePPM) || s.Residual < 0 {
			t.Errorf("segment %+v after %v", s, to)
		}
		to = s.To
	}
	if to != end {
		t.Errorf("segments end at %v, the recording at %v", to, end)
	}
	if 2*len(fit.SetAside) >= len(anchors) {
		t.Errorf("%d of %d anchors set aside", len(fit.SetAside), len(anchors))
	}
	for _, a := range anchors {
		for _, l := range []timecode.Log{a.Log, 0, math.MinInt64, math.MaxInt64} {
			v, half, ok, cause := fit.Video(l, a.LogHalf)
			if ok && (v < 0 || v > end || half < 0) || !ok && cause.Empty() {
				t.Errorf("%d: %v ± %v, %v, %q", l, v, half, ok, cause)
			}
		}
		fit.Log(a.Video)
		fit.Elapsed(a.Video)
	}
	for _, line := range fit.Describe() {
		if line.Empty() {
			t.Error("an empty sentence")
		}
	}
}

func BenchmarkVideo(b *testing.B) {
	f, err := Tie(recording(120, 120), []Anchor{at("a", 100, 100.5, 0.5), at("b", 3000, 3000.5, 0.5), at("c", 9000, 9100.5, 0.5)}, Options{})
	if err != nil {
		b.Fatal(err)
	}
	for i := 0; b.Loop(); i++ {
		f.Video(logAt(float64(i%7000)), 500*time.Millisecond)
	}
}
