package spoken

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/reach"
	"pushcue/internal/soak"
	"pushcue/internal/testfootage"
)

var found = sync.OnceValues(func() (*ffmpeg.Tools, error) {
	return ffmpeg.Find(context.Background(), ffmpeg.Where{Cache: ffmpeg.UserCache()})
})

func realTools(t *testing.T) *ffmpeg.Tools {
	t.Helper()
	tools, err := found()
	if err != nil {
		t.Fatalf("ffmpeg 5.1 or newer is needed to test with: %v", err)
	}
	return tools
}

// A voice is something like one: a tone that comes and goes, with a mark of another
// pitch in its first and in its last tenth of a second.
type voice struct{ seconds, level float64 }

func (v voice) at(t float64) float64 {
	switch {
	case t < 0.1 || t > v.seconds-0.1:
		return v.level * math.Sin(2*math.Pi*2000*t)
	case math.Sin(2*math.Pi*1.5*t) > 0:
		return v.level * math.Sin(2*math.Pi*300*t)
	}
	return v.level * math.Sin(2*math.Pi*300*t) * 0.3
}

func (v voice) wav(t *testing.T, name string) string { return wav(t, name, v.seconds, v.at) }

// wav is a file of 24-bit samples, 24,000 a second, in Microsoft's RIFF form.
func wav(t *testing.T, name string, seconds float64, at func(seconds float64) float64) string {
	t.Helper()
	const rate = 24000
	n := int(math.Round(seconds * rate))
	b := append(binary.LittleEndian.AppendUint32([]byte("RIFF"), uint32(36+3*n)), "WAVEfmt "...)
	for _, v := range []any{uint32(16), uint16(1), uint16(1), uint32(rate), uint32(3 * rate), uint16(3), uint16(24)} {
		b, _ = binary.Append(b, binary.LittleEndian, v)
	}
	b = binary.LittleEndian.AppendUint32(append(b, "data"...), uint32(3*n))
	for i := range n {
		v := int32(math.Round(at(float64(i)/rate) * (1<<23 - 1)))
		b = append(b, byte(v), byte(v>>8), byte(v>>16))
	}
	file := filepath.Join(t.TempDir(), name)
	must(t, os.WriteFile(file, b, 0o644))
	return file
}

// as is the voice in files of several kinds, which one run of ffmpeg writes.
func (v voice) as(t *testing.T, kinds map[string][]string) (files map[string]string) {
	t.Helper()
	dir := t.TempDir()
	files = map[string]string{}
	args := []string{"-i", "file:" + v.wav(t, "voice.wav")}
	for name, how := range kinds {
		files[name] = filepath.Join(dir, name)
		args = append(append(append(args, "-map", "0:a"), how...), "file:"+files[name])
	}
	if _, err := realTools(t).Do(context.Background(), ffmpeg.Run{Args: args, Sources: testfootage.Inputs(args)}); err != nil {
		t.Fatal(err)
	}
	return files
}

// hear is what is heard in some files, 48,000 samples a second; one run of ffmpeg
// decodes all.
func hear(t *testing.T, files map[string]string) (sounds map[string][]float64) {
	t.Helper()
	dir := t.TempDir()
	names := slices.Sorted(maps.Keys(files))
	decoded := func(i int) string { return filepath.Join(dir, fmt.Sprint(i)) }
	var inputs, outputs []string
	for i, name := range names {
		inputs = append(inputs, "-i", "file:"+files[name])
		outputs = append(outputs, "-map", fmt.Sprintf("%d:a:0", i), "-ac", "1", "-ar", "48000", "-f", "f32le", "file:"+decoded(i))
	}
	if _, err := realTools(t).Do(context.Background(), ffmpeg.Run{Args: append(inputs, outputs...), Sources: testfootage.Inputs(inputs)}); err != nil {
		t.Fatal(err)
	}
	sounds = map[string][]float64{}
	for i, name := range names {
		raw, err := os.ReadFile(decoded(i))
		must(t, err)
		for k := 0; k+4 <= len(raw); k += 4 {
			sounds[name] = append(sounds[name], float64(math.Float32frombits(binary.LittleEndian.Uint32(raw[k:]))))
		}
	}
	return sounds
}

func listen(t *testing.T, file string) *Note {
	t.Helper()
	tools := realTools(t)
	s, err := tools.ProbeSound(context.Background(), reach.Named(file, filepath.Base(file)))
	if err != nil {
		t.Fatal(err)
	}
	n, err := Listen(context.Background(), tools, s)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func write(t *testing.T, n *Note) string {
	t.Helper()
	out := filepath.Join(t.TempDir(), "note.m4a")
	if err := n.Write(context.Background(), realTools(t), out); err != nil {
		t.Fatal(err)
	}
	return out
}

// pitch is how much of a tone is in a stretch of sound.
func pitch(sound []float64, from, long, hertz float64) float64 {
	var re, im float64
	part := sound[max(0, int(from*48000)):min(len(sound), int((from+long)*48000))]
	for i, v := range part {
		a := 2 * math.Pi * hertz * float64(i) / 48000
		re, im = re+v*math.Cos(a), im+v*math.Sin(a)
	}
	return 2 * math.Hypot(re, im) / float64(max(len(part), 1))
}

// EBU R 128 asks for -23 LUFS, give or take 0.5 LU, and at most -1 dBTP; the meter is
// ffmpeg's, which follows EBU Tech 3341.
func TestLoudnessIsEvenedOut(t *testing.T) {
	levels := map[string]float64{"far too soft": 0.006}
	if soak.On() {
		levels["soft"], levels["right"], levels["loud"] = 0.05, 0.2, 0.9
	}
	for name, level := range levels {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			out := listen(t, write(t, listen(t, voice{3, level}.wav(t, "x.wav"))))
			if got := out.loudness; math.Abs(got.Integrated+23) > 0.5 || got.TruePeak > -1 {
				t.Errorf("%.1f LUFS, %.1f dBTP", got.Integrated, got.TruePeak)
			}
		})
	}
}

func TestTheGainLeadsToTheTarget(t *testing.T) {
	for measured, want := range map[float64]float64{-23: 0, -9.5: -13.5, -30: 7, -53: 30, -60: 30, -70: 0, -91: 0} {
		n := &Note{loudness: ffmpeg.Loudness{Integrated: measured}}
		if got := n.gain(); got != want {
			t.Errorf("%.1f LUFS get %.1f dB, want %.1f dB", measured, got, want)
		}
	}
}

func TestPeaksAreHeldDown(t *testing.T) {
	t.Parallel()
	// A soft voice with knocks on the microphone.
	file := wav(t, "knocks.wav", 6, func(at float64) float64 {
		v := 0.02 * math.Sin(2*math.Pi*300*at)
		if math.Mod(at, 2) < 0.004 {
			v += 0.9 * math.Sin(2*math.Pi*1300*at)
		}
		return v
	})
	out := listen(t, write(t, listen(t, file)))
	if got := out.loudness; got.TruePeak > -1 || got.Integrated < -24.5 || got.Integrated > -22.5 {
		t.Errorf("%.1f LUFS, %.1f dBTP", got.Integrated, got.TruePeak)
	}
	if d := out.Length - 6*time.Second; d < 0 || d > 50*time.Millisecond {
		t.Errorf("6 s came out as %v", out.Length)
	}
}

func TestSilenceStaysSilence(t *testing.T) {
	t.Parallel()
	out := listen(t, write(t, listen(t, voice{1, 0}.wav(t, "x.wav"))))
	if !out.loudness.Silent() {
		t.Errorf("%+v", out.loudness)
	}
}

// What phones, recorders and messengers write; none is cut at either end. Of the kinds
// that only differ in how samples are packed, a soak takes the rest.
func TestEveryKindIsHeardWhole(t *testing.T) {
	t.Parallel()
	kinds := map[string][]string{
		"a name 'with' %d; [odd] :=\\ marks.wav": {}, "six.wav": {"-ac", "6"}, "x.m4a": {"-c:a", "aac"}, "x.aac": {"-c:a", "aac"},
		"x.mp3": {"-b:a", "64k"}, "no index.mp3": {"-q:a", "5", "-write_xing", "0"}, "x.opus": {"-c:a", "libopus"}, "x.wma": {"-c:a", "wmav2"},
	}
	if soak.On() {
		maps.Copy(kinds, map[string][]string{
			"x.wav": {}, "8-bit.wav": {"-c:a", "pcm_u8", "-ar", "8000"}, "law.wav": {"-c:a", "pcm_alaw", "-ar", "8000"}, "two channels.wav": {"-ac", "2"},
			"x.ogg": {"-c:a", "libvorbis"}, "x.flac": {}, "x.3gp": {"-c:a", "aac", "-f", "3gp"}, "x.aiff": {}, "x.caf": {}, "x.webm": {"-c:a", "libopus"},
		})
	}
	const long = 1.5
	var done sync.Mutex
	written := map[string]string{}
	files := voice{long, 0.1}.as(t, kinds)
	t.Run("written", func(t *testing.T) {
		dir := t.TempDir()
		for name, file := range files {
			t.Run(name, func(t *testing.T) {
				t.Parallel()
				note := listen(t, file)
				if !note.Damage.Empty() {
					t.Errorf("it is said to be damaged: %s", note.Damage)
				}
				to := filepath.Join(dir, name+".m4a")
				must(t, note.Write(context.Background(), realTools(t), to))
				done.Lock()
				defer done.Unlock()
				written[name] = to
			})
		}
		t.Cleanup(func() { // when all are written
			for name, all := range hear(t, written) {
				lead := 0.0
				if strings.HasSuffix(name, ".wma") { // a block of lead-in, 2048 samples at 24 kHz, is kept rather than speech lost
					lead = 2048. / 24000
				}
				if got := float64(len(all)) / 48000; got < long-0.001 || got > long+0.2 {
					t.Errorf("%s: %.3f s came out as %.3f s", name, long, got)
				}
				if first, last := pitch(all, lead+0.02, 0.06, 2000), pitch(all, lead+long-0.08, 0.06, 2000); first < 0.02 || last < 0.02 {
					t.Errorf("%s: the marks at the ends: %.3f, %.3f", name, first, last)
				}
			}
		})
	})
	if len(written) != len(kinds) {
		t.Errorf("%d kinds of %d were written", len(written), len(kinds))
	}
}

func TestAMRIsRead(t *testing.T) {
	t.Parallel()
	// RFC 4867 section 5: the mark, then frames of mode 7, 32 bytes and 20 ms each.
	data := []byte("#!AMR\n")
	for i := range 100 {
		data = append(data, 0x3c)
		for j := range 31 {
			data = append(data, byte(i*31+j*7))
		}
	}
	file := filepath.Join(t.TempDir(), "x.amr")
	must(t, os.WriteFile(file, data, 0o644))
	n := listen(t, file)
	if n.Length < 1990*time.Millisecond || n.Length > 2010*time.Millisecond {
		t.Errorf("100 frames of 20 ms are %v", n.Length)
	}
	write(t, n)
}

func TestALongNoteIsntCutShort(t *testing.T) {
	t.Parallel()
	long := time.Duration(soak.Count(40, 150)) * time.Second
	out := listen(t, write(t, listen(t, voice{long.Seconds(), 0.1}.as(t, map[string][]string{"long.mp3": {"-b:a", "24k", "-ar", "16000"}})["long.mp3"])))
	if out.Length < long || out.Length > long+time.Second {
		t.Errorf("%v came out as %v", long, out.Length)
	}
}

func TestWhatCantBeHeardIsRefusedInOneSentence(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	good, err := os.ReadFile(voice{1, 0.1}.as(t, map[string][]string{"x.m4a": {"-c:a", "aac"}})["x.m4a"])
	must(t, err)
	for name, c := range map[string]struct {
		data []byte
		says string
	}{
		"empty.wav":    {nil, "is empty"},
		"list.m4a":     {[]byte("#EXTM3U\nhttp://somewhere.example/a.mp3\n"), "this is a text"},
		"noise.mp3":    {append([]byte{0, 1, 2, 3}, bytes.Repeat([]byte{7, 0, 9}, 4000)...), "isn't read"},
		"no index.m4a": {good[:len(good)/3], "can't be read"},
	} {
		file := filepath.Join(dir, name)
		must(t, os.WriteFile(file, c.data, 0o644))
		if _, err := realTools(t).ProbeSound(context.Background(), reach.Named(file, name)); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestANoteThatBreaksOffSaysSo(t *testing.T) {
	t.Parallel()
	whole := voice{8, 0.1}.as(t, map[string][]string{"x.flac": {}})["x.flac"]
	data, err := os.ReadFile(whole)
	must(t, err)
	half := filepath.Join(t.TempDir(), "half.flac")
	must(t, os.WriteFile(half, data[:len(data)/2], 0o644))
	n := listen(t, half)
	if !strings.Contains(n.Damage.String(), "breaks off") {
		t.Errorf("%v of 8 s: %q", n.Length, n.Damage)
	}
	if all := testfootage.Hear(t, write(t, n), 48000); float64(len(all))/48000 < n.Length.Seconds()-0.001 {
		t.Errorf("%v could be heard, %.2f s are handed over", n.Length, float64(len(all))/48000)
	}
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
