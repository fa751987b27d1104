package ffmpeg

import (
	"bytes"
	"io"
	"os/exec"
	"path/filepath"
	"testing"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/internal/reach"
)

// Recordings in RGB have no plane of brightness: asked for one, ffmpeg fails.
func TestBrightnessOfPicturesOfEveryKind(t *testing.T) {
	tools, err := Find(t.Context(), Where{Cache: UserCache()})
	if err != nil {
		t.Fatal(err)
	}
	for _, format := range []string{"bgr24", "yuv420p"} {
		path := filepath.Join(t.TempDir(), "grey.avi")
		made := exec.CommandContext(t.Context(), tools.FFmpeg, "-nostdin", "-v", "error", "-f", "lavfi", "-i", "color=c=0x808080:s=16x16:d=0.1:r=10",
			"-pix_fmt", format, "-c:v", "rawvideo", path)
		if said, err := made.CombinedOutput(); err != nil {
			t.Fatalf("%s: %v: %s", format, err, said)
		}
		var pixels bytes.Buffer
		out := OutputPipe([]*ff.Stream{Luma(Input(path).Get("v"))}, ff.KwArgs{"f": "rawvideo", "pix_fmt": "gray"})
		if _, err := tools.Do(t.Context(), Run{Outputs: []*ff.Stream{out}, Sources: []*reach.Source{reach.Named(path, "grey.avi")}, Stdout: func(r io.Reader) error {
			_, err := io.Copy(&pixels, r)
			return err
		}}); err != nil {
			t.Fatalf("%s: %v", format, err)
		}
		if pixels.Len() != 16*16 {
			t.Fatalf("%s: %d pixels", format, pixels.Len())
		}
		// The middle grey of 8 bits is 126 in the range of video (ITU-R BT.601: 16 + 219*128/255).
		if got := int(pixels.Bytes()[100]); got < 124 || got > 128 {
			t.Errorf("%s: brightness %d", format, got)
		}
	}
}
