package handover

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pushcue/frames"
	"pushcue/internal/ffmpeg"
	"pushcue/internal/job"
	"pushcue/internal/placing"
)

func TestAFolderWithoutARecordingNamesWhatWasPassedOver(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"log.csv", "part1.mp4.part", "notes.docx", ".hidden"} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte("x"), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	_, err := job.Open(t.Context(), job.Ask{Path: dir})
	if err == nil || !strings.Contains(err.Error(), `"notes.docx", "part1.mp4.part"`) || strings.Contains(err.Error(), "hidden") || strings.Contains(err.Error(), "log.csv") {
		t.Errorf("%v", err)
	}
}

func TestOtherPicturesInAFileAreNamed(t *testing.T) {
	rec := &frames.Recording{Parts: []frames.Part{{Name: "a.mp4", Media: &ffmpeg.Media{}}, {Name: "b.mp4", Media: &ffmpeg.Media{Others: []string{"640×480 h264"}}}}}
	all := placing.OtherPictures(rec)
	if len(all) != 1 || !strings.Contains(all[0].Text.String(), "b.mp4") || !strings.Contains(all[0].Text.String(), "640×480 h264") {
		t.Errorf("%+v", all)
	}
}
