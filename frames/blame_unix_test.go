//go:build unix

package frames

import (
	"errors"
	"os/exec"
	"path/filepath"
	"testing"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/testfootage"
	"pushcue/timeline/fault"
)

// Programs that fail at once, or print anything, stand in for ffmpeg: the recording,
// which is in order, isn't blamed for it.
func TestARecordingIsNotBlamedForItsReader(t *testing.T) {
	recording := testfootage.Numbered(t, testfootage.Spec{})
	good, err := ffmpeg.Find(t.Context(), ffmpeg.Where{Cache: ffmpeg.UserCache()})
	if err != nil {
		t.Fatal(err)
	}
	for _, stand := range []string{"false", "echo"} {
		path, err := exec.LookPath(stand)
		if err != nil {
			t.Fatal(err)
		}
		decoder, prober := *good, *good
		decoder.FFmpeg, prober.FFprobe = path, path
		for what, tools := range map[string]*ffmpeg.Tools{"ffmpeg": &decoder, "ffprobe": &prober} {
			_, err := Open(t.Context(), tools, named(recording), Options{})
			var blamed *ffmpeg.Error
			if _, isFault := fault.In(err); isFault || !errors.As(err, &blamed) {
				t.Errorf("%s in %s's place: %v", stand, what, err)
			}
		}
	}
	t.Setenv("TMPDIR", filepath.Join(t.TempDir(), "gone"))
	_, err = Open(t.Context(), good, named(recording), Options{})
	var place *ffmpeg.PlaceError
	if !errors.As(err, &place) {
		t.Errorf("without a folder for temporary files: %v", err)
	}
}
