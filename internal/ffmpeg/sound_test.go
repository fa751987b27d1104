package ffmpeg

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

func TestParseSound(t *testing.T) {
	got, err := parseSound([]byte(`{"streams":[` + cover + `,` + sound + `],"format":{"duration":"75.500000","tags":{"CREATION_TIME":"2026-03-02T10:07:31Z","title":"x"}}}`))
	want := &Sound{
		Duration: 75500 * time.Millisecond, Created: time.Date(2026, 3, 2, 10, 7, 31, 0, time.UTC),
		Audio: AudioStream{Index: 2, Codec: "aac", SampleRate: 48000, Channels: 2, Start: -21 * time.Millisecond},
		Tags:  map[string]string{"creation_time": "2026-03-02T10:07:31Z", "title": "x"},
	}
	if diff := cmp.Diff(want, got); err != nil || diff != "" {
		t.Error(err, diff)
	}
	for text, says := range map[string]string{`{"streams":[` + cover + `]}`: "no sound", `{}`: "no sound", `[`: "can't be read"} {
		if _, err := parseSound([]byte(text)); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%s: %v", text, err)
		}
	}
}

func TestTheMetersLastWordHolds(t *testing.T) {
	l := Loudness{Integrated: silent, TruePeak: math.Inf(-1)}
	for _, line := range []string{"frame:0 pts:0", "lavfi.r128.I=-70.000", "lavfi.r128.true_peak=0.100", "lavfi.r128.I=-31.530", "lavfi.r128.true_peak=0.500", "lavfi.r128.LRA=3", "lavfi.r128.I=nan", "no mark"} {
		if err := l.read([]byte(line)); err != nil {
			t.Error(err)
		}
	}
	if l.Integrated != -31.53 || math.Abs(l.TruePeak+6.0206) > 0.001 || l.Silent() {
		t.Errorf("%+v", l)
	}
	if nothing := (Loudness{Integrated: silent}); !nothing.Silent() {
		t.Error("silence is heard")
	}
}

func FuzzParseSound(f *testing.F) {
	f.Add([]byte(`{"streams":[` + sound + `],"format":{"duration":"1e9"}}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		if s, err := parseSound(text); err == nil && (s.Duration < 0 || s.Audio.Channels <= 0) {
			t.Errorf("%+v", s)
		}
	})
}
