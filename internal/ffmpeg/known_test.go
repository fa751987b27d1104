package ffmpeg

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"pushcue/internal/reach"
	"pushcue/internal/testfootage"
	"pushcue/timeline/fault"
)

func TestAFitFFmpegReadsWhatIsKnownToBeGood(t *testing.T) {
	if err := realTools(t).Check(t.Context()); err != nil {
		t.Error(err)
	}
}

// A program that fails whatever it is given, or answers anything, is blamed itself: the
// recording is in order.
func TestAProgramThatFailsIsBlamedAndNotTheFile(t *testing.T) {
	recording := testfootage.Numbered(t, testfootage.Spec{})
	sound := filepath.Join(t.TempDir(), "1.wav")
	wave := append([]byte("RIFF\x24\x10\x00\x00WAVEfmt \x10\x00\x00\x00\x01\x00\x01\x00\x40\x1f\x00\x00\x80\x3e\x00\x00\x02\x00\x10\x00data\x00\x10\x00\x00"), make([]byte, 4096)...)
	if err := os.WriteFile(sound, wave, 0o600); err != nil {
		t.Fatal(err)
	}
	for _, fake := range []string{"fails", "garbage", "unknown"} {
		tools, _ := fakeTools(t, fake)
		_, probed := tools.Probe(t.Context(), reach.Named(recording, "rec.mp4"))
		_, heard := tools.ProbeSound(t.Context(), reach.Named(sound, "1.wav"))
		for what, err := range map[string]error{"recording": probed, "sound": heard} {
			var blamed *Error
			if _, isFault := fault.In(err); isFault || !errors.As(err, &blamed) || !strings.Contains(err.Error(), "ffprobe can't read even a recording that is known to be good") || blamed.Hint.Empty() {
				t.Errorf("%s, %s: %v", fake, what, err)
			}
		}
	}
	// What tells of the file itself is believed without asking further.
	starts := filepath.Join(t.TempDir(), "starts")
	tools, _ := fakeTools(t, "damaged")
	t.Setenv("PUSHCUE_FAKE_STARTS", starts)
	if _, err := tools.Probe(t.Context(), reach.Named(recording, "rec.mp4")); err == nil {
		t.Error("a damaged recording passes")
	} else if _, isFault := fault.In(err); !isFault {
		t.Errorf("a damaged recording: %v", err)
	}
	if n, _ := os.ReadFile(starts); len(n) != 1 {
		t.Errorf("%d programs were started", len(n))
	}
}

func TestAnUnusableTemporaryFolderIsNamed(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("its temporary folder is named by more than one variable")
	}
	tools, _ := fakeTools(t, "")
	gone := filepath.Join(t.TempDir(), "gone")
	t.Setenv("TMPDIR", gone)
	_, ran := tools.Do(t.Context(), Run{})
	for what, err := range map[string]error{"a run": ran, "the check": tools.Check(t.Context())} {
		var place *PlaceError
		if !errors.As(err, &place) || !OfItself(err) || !strings.Contains(err.Error(), gone) || !strings.Contains(place.Hint.String(), "TMPDIR") || !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("%s: %v", what, err)
		}
	}
}
