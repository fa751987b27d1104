package spoken

import (
	"bytes"
	"context"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"pushcue/internal/ffmpeg"
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

// voice is something like one, as a source of ffmpeg's: a tone that comes and goes,
// with a mark of another pitch in its first and in its last tenth of a second.
func voice(seconds, level float64) string {
	tone := fmt.Sprintf("if(lt(t,0.1)+gt(t,%f),%f*sin(2*PI*2000*t),%f*sin(2*PI*300*t)*(0.3+0.7*gt(sin(2*PI*1.5*t),0)))", seconds-0.1, level, level)
	return fmt.Sprintf("aevalsrc='%s':s=24000:d=%f", tone, seconds)
}

// speech is a file with a voice in it.
func speech(t *testing.T, name string, seconds float64, level float64, how ...string) string {
	t.Helper()
	return speeches(t, seconds, level, map[string][]string{name: how})[name]
}

// speeches is one voice in files of several kinds, which one run of ffmpeg writes.
func speeches(t *testing.T, seconds, level float64, kinds map[string][]string) (files map[string]string) {
	t.Helper()
	dir := t.TempDir()
	files = map[string]string{}
	args := []string{"-f", "lavfi", "-i", voice(seconds, level)}
	for name, how := range kinds {
		files[name] = filepath.Join(dir, name)
		args = append(append(append(args, "-map", "0:a"), how...), "file:"+files[name])
	}
	if _, err := realTools(t).Do(context.Background(), ffmpeg.Run{Args: args}); err != nil {
		t.Fatal(err)
	}
	return files
}

func listen(t *testing.T, file string) *Note {
	t.Helper()
	tools := realTools(t)
	s, err := tools.ProbeSound(context.Background(), file, filepath.Base(file))
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
	levels := map[string]float64{"far too soft": 0.006, "loud": 0.9}
	if soak.On() {
		levels["soft"], levels["right"] = 0.05, 0.2
	}
	for name, level := range levels {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			out := listen(t, write(t, listen(t, speech(t, "x.wav", 3, level))))
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
	file := filepath.Join(t.TempDir(), "knocks.wav")
	_, err := realTools(t).Do(context.Background(), ffmpeg.Run{Args: []string{"-f", "lavfi", "-i",
		"aevalsrc='0.02*sin(2*PI*300*t)+0.9*sin(2*PI*1300*t)*lt(mod(t,2),0.004)':s=48000:d=6", "file:" + file}})
	if err != nil {
		t.Fatal(err)
	}
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
	out := listen(t, write(t, listen(t, speech(t, "x.wav", 1, 0))))
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
	for name, file := range speeches(t, long, 0.1, kinds) {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			note := listen(t, file)
			if !note.Damage.Empty() {
				t.Errorf("it is said to be damaged: %s", note.Damage)
			}
			all := testfootage.Hear(t, write(t, note), 48000)
			lead := 0.0
			if strings.HasSuffix(name, ".wma") { // a block of lead-in, 2048 samples at 24 kHz, is kept rather than speech lost
				lead = 2048. / 24000
			}
			if got := float64(len(all)) / 48000; got < long-0.001 || got > long+0.2 {
				t.Errorf("%.3f s came out as %.3f s", long, got)
			}
			if first, last := pitch(all, lead+0.02, 0.06, 2000), pitch(all, lead+long-0.08, 0.06, 2000); first < 0.02 || last < 0.02 {
				t.Errorf("the marks at the ends: %.3f, %.3f", first, last)
			}
		})
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
	out := listen(t, write(t, listen(t, speech(t, "long.mp3", long.Seconds(), 0.1, "-b:a", "24k", "-ar", "16000"))))
	if out.Length < long || out.Length > long+time.Second {
		t.Errorf("%v came out as %v", long, out.Length)
	}
}

func TestWhatCantBeHeardIsRefusedInOneSentence(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	good, err := os.ReadFile(speech(t, "x.m4a", 1, 0.1, "-c:a", "aac"))
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
		if _, err := realTools(t).ProbeSound(context.Background(), file, name); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestANoteThatBreaksOffSaysSo(t *testing.T) {
	t.Parallel()
	whole := speech(t, "x.flac", 8, 0.1)
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
