package frames

import (
	"bytes"
	"encoding/binary"
	"io"
	"math"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/testfootage"
)

// remuxed copies a recording's packets into another file with ffmpeg.
func remuxed(t *testing.T, path, name string, how ...string) string {
	t.Helper()
	to := filepath.Join(t.TempDir(), name)
	args := append(append([]string{"-nostdin", "-v", "error", "-i", path, "-c", "copy"}, how...), to)
	if said, err := exec.CommandContext(t.Context(), tools(t).FFmpeg, args...).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, said)
	}
	return to
}

// A recorder that dropped pictures left empty chunks in their places: the recording isn't
// cut off, each picture stands at its own time, and the last one lasts no longer than any.
func TestDroppedPicturesAreNoDamage(t *testing.T) {
	whole := testfootage.Numbered(t, testfootage.Spec{Container: "avi", Codec: "mjpeg", Frames: 60, Width: 160, Height: 120})
	for name, c := range map[string]struct {
		dropped string
		frames  int
	}{
		"two of three": {"gt(mod(n,3),0)*lt(n,58)", 22},
		"ten in a row": {"between(n,40,49)", 50},
	} {
		r := open(t, remuxed(t, whole, "dropped.avi", "-bsf:v", "noise=drop='"+c.dropped+"'"))
		if len(r.Times) != c.frames || !r.Parts[0].Damage.Empty() {
			t.Errorf("%s: %d pictures, damage %q", name, len(r.Times), r.Parts[0].Damage)
		}
		if last := r.Frame(len(r.Times) - 1); r.End.Seconds() != 2.4 || last.Until.Sub(last.At) != 40*time.Millisecond {
			t.Errorf("%s: the last picture is shown from %v to %v", name, last.At, last.Until)
		}
		cut := open(t, changed(t, r.Parts[0].Path, cutTo(0.8)))
		if cut.Parts[0].Damage.Empty() {
			t.Errorf("%s: cut off, and nothing is said of it", name)
		}
	}
}

// A transport stream tells its packets' lengths wrongly, and every picture decodes.
func TestWrongPacketLengthsAreNoDamage(t *testing.T) {
	whole := testfootage.Numbered(t, testfootage.Spec{Container: "ts", Codec: "mpeg2", Frames: 50, Width: 160, Height: 120})
	wrong := 0
	path := changed(t, remuxed(t, whole, "lengths.ts", "-omit_video_pes_length", "0"), func(b []byte) []byte {
		const packet, startsUnit, hasAdaptation = 188, 0x40, 0x20 // ISO/IEC 13818-1, 2.4.3
		for at := 0; at+packet <= len(b); at += packet {
			p := b[at : at+packet]
			payload := 4
			if p[3]&hasAdaptation != 0 {
				payload += 1 + int(p[4])
			}
			if p[1]&startsUnit == 0 || payload+6 > packet || !bytes.Equal(p[payload:payload+4], []byte{0, 0, 1, 0xe0}) {
				continue
			}
			if long := binary.BigEndian.Uint16(p[payload+4:]); long > 0 {
				binary.BigEndian.PutUint16(p[payload+4:], long+7)
				wrong++
			}
		}
		return b
	})
	if wrong < 20 {
		t.Fatalf("%d lengths are wrong", wrong)
	}
	if r := open(t, path); len(r.Times) != 50 || !r.Parts[0].Damage.Empty() {
		t.Errorf("%d pictures, damage %q", len(r.Times), r.Parts[0].Damage)
	}
}

// What players make of an AVI with B-frames is that a picture comes one later than its
// number says, and the sound at its own time: what is joined keeps them as far apart.
func TestSoundKeepsItsDistanceFromPicturesKnownByNumber(t *testing.T) {
	for name, c := range map[string]struct {
		spec testfootage.Spec
		lead float64
	}{
		"MPEG-4":                   {testfootage.Spec{Codec: "mpeg4", BFrames: 2}, 0.04},
		"MPEG-4, one B-frame":      {testfootage.Spec{Codec: "mpeg4", BFrames: 1}, 0.04},
		"H.264":                    {testfootage.Spec{Codec: "h264", BFrames: 2}, 0.08},
		"MPEG-4, without B-frames": {testfootage.Spec{Codec: "mpeg4"}, 0},
	} {
		t.Run(name, func(t *testing.T) {
			c.spec.Container, c.spec.Frames, c.spec.Width, c.spec.Height, c.spec.Audio = "avi", 60, 160, 120, true
			path := testfootage.Numbered(t, c.spec)
			r := open(t, path)
			if got := beep(testfootage.Hear(t, path, 48000)) - beep(heard(t, r)); !(math.Abs(got-c.lead) <= 0.010) {
				t.Errorf("the sound is moved by %.3f s, want %.3f s", got, c.lead)
			}
		})
	}
}

// heard is the sound of the joined recording, 48,000 samples a second.
func heard(t *testing.T, r *Recording) (all []float64) {
	t.Helper()
	out := ffmpeg.OutputPipe([]*ff.Stream{r.Joined(true).Sound}, ff.KwArgs{"f": "s16le", "ac": 1})
	_, err := tools(t).Do(t.Context(), ffmpeg.Run{Outputs: []*ff.Stream{out}, Sources: r.Sources(), Stdout: func(in io.Reader) error {
		raw, err := io.ReadAll(in)
		for ; len(raw) >= 2; raw = raw[2:] {
			all = append(all, float64(int16(binary.LittleEndian.Uint16(raw)))/32768)
		}
		return err
	}})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// beep is when the second of the test tone's beeps begins: it is louder than the tone.
func beep(all []float64) float64 {
	const loud, after = 0.2, 24000
	for i, v := range all[min(after, len(all)):] {
		if v > loud {
			return float64(after+i) / 48000
		}
	}
	return math.NaN()
}

// Of packets with ten frames of AMR only the first is decoded where they go to the decoder
// as they are: the part says so. Unpacked, all of them are heard.
func TestASoundThatCantBeDecodedWholeIsFound(t *testing.T) {
	video := testfootage.Numbered(t, testfootage.Spec{Frames: 100, Width: 160, Height: 120})
	r := open(t, changed(t, video, func(b []byte) []byte { return testfootage.AMR3GP(b, 200, 10) }))
	p := &r.Parts[0]
	if p.Sound != nil || p.Media.Voice == nil {
		t.Errorf("heard: %+v, unpacked: %v", p.Sound, p.Media.Voice != nil)
	}
	p.Media.Voice = nil
	if err := p.listen(t.Context(), tools(t)); err != nil || p.Sound == nil || p.Sound.Claimed != 4*time.Second || p.Sound.Decoded > time.Second {
		t.Errorf("heard: %+v, %v", p.Sound, err)
	}
}
