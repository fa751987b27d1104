package houserules

import (
	"strings"
	"testing"
)

const module = "pushcue/"

// mayUse says which of our packages a folder's packages may import, tests left
// aside. The first match counts; a folder may always use what is below itself.
var mayUse = []struct {
	folder string
	uses   []string
}{
	{"timeline", nil},
	{"subtitles", []string{"timeline"}},
	{"frames", []string{"timeline", "internal/ffmpeg", "internal/safefile", "internal/crew", "internal/reach"}},
	{"overlay", []string{"timeline", "subtitles", "internal/ffmpeg", "internal/safefile"}},
	{"internal/reach", []string{"timeline"}},
	{"internal/ffmpeg", []string{"timeline", "internal/reach", "internal/safefile"}},
	{"internal/safefile", nil},
	{"internal/crew", nil},
	{"internal/desktop", []string{"internal/safefile"}},
	{"internal/manifest", []string{"internal/safefile", "internal/crew", "internal/reach"}},
	{"internal/trouble", []string{"timeline", "internal/ffmpeg", "internal/safefile", "internal/reach"}},
	{"internal/seal", []string{"internal/safefile", "internal/reach"}},
	{"internal/progress", []string{"timeline"}},
	{"internal/shelf", []string{"timeline", "internal/safefile", "internal/manifest", "internal/reach", "internal/seal", "internal/trouble"}},
	{"internal/job", []string{"frames", "timeline", "internal/photo", "internal/safefile", "internal/manifest", "internal/reach", "internal/seal", "internal/trouble"}},
	{"internal/placing", []string{"frames", "timeline", "internal/job", "internal/shelf", "internal/ffmpeg", "internal/safefile", "internal/manifest", "internal/reach", "internal/seal", "internal/trouble", "internal/progress", "internal/crew", "internal/photo"}},
	{"internal/photo", []string{"timeline"}},
	{"internal/handover", []string{"frames", "overlay", "subtitles", "timeline", "internal/job", "internal/placing", "internal/shelf", "internal/seal", "internal/trouble", "internal/progress", "internal/ffmpeg", "internal/safefile", "internal/manifest", "internal/crew", "internal/reach", "internal/photo"}},
	{"internal/review", []string{"internal/handover", "internal/job", "internal/photo", "internal/placing", "internal/trouble", "internal/progress", "internal/shelf", "internal/seal", "frames", "overlay", "subtitles", "timeline", "internal/ffmpeg", "internal/safefile", "internal/manifest", "internal/reach"}},
	{"cmd", []string{"internal/review", "internal/desktop", "internal/handover", "internal/job", "internal/photo", "internal/placing", "internal/trouble", "internal/progress", "internal/shelf", "internal/seal", "frames", "overlay", "subtitles", "timeline", "internal/ffmpeg", "internal/safefile", "internal/manifest", "internal/reach"}},

	// Makers of test footage, and what tests alone use.
	{"internal/framenumber", nil},
	{"internal/footage", []string{"internal/framenumber"}},
	{"internal/testfootage", []string{"internal/framenumber", "internal/footage", "internal/reach", "timeline"}},
	{"internal/testbrowser", nil},
	{"internal/testdrive", nil},
	{"internal/testpush", []string{"timeline"}},
	{"internal/soak", nil},
	{"internal/houserules", nil},
	{"internal/placingset", []string{"timeline"}},
	{"internal/counterset", []string{"internal/footage", "internal/testfootage", "frames", "timeline", "internal/ffmpeg"}},
	{"scripts", []string{"internal", "frames", "overlay", "subtitles", "timeline"}},
}

func TestImportsPointOneWay(t *testing.T) {
	for _, s := range sources(t, false) {
		known := false
		for _, rule := range mayUse {
			if !under(s.folder, rule.folder) {
				continue
			}
			known = true
			for _, i := range s.imports() {
				ours, found := strings.CutPrefix(i, module)
				if found && !under(ours, rule.folder) && !under(ours, rule.uses...) {
					t.Errorf("%s uses %s, which %s may not", s.name, ours, rule.folder)
				}
			}
			break
		}
		if !known {
			t.Errorf("%s: no rule says what %s may use", s.name, s.folder)
		}
	}
}

func TestHeartOpensNothing(t *testing.T) {
	for _, s := range sources(t, false) {
		if !under(s.folder, "timeline", "subtitles") {
			continue
		}
		for _, i := range s.imports() {
			if under(i, "os", "net", "syscall", "pushcue/internal") {
				t.Errorf("%s imports %s: these packages open no file and start nothing", s.name, i)
			}
		}
	}
}

func TestOnlyOnePackageRunsPrograms(t *testing.T) {
	for _, s := range sources(t, false) {
		if under(s.folder, "internal/ffmpeg", "internal/desktop", "internal/testfootage", "internal/testbrowser", "scripts") {
			continue
		}
		for _, i := range s.imports() {
			if i == "os/exec" {
				t.Errorf("%s runs programs: only internal/ffmpeg does, and internal/desktop what the user has for files", s.name)
			}
		}
	}
}

func TestPicturesOfUsersAreNotDecodedByImaging(t *testing.T) {
	// github.com/disintegration/imaging dies on some broken palette pictures, in
	// a goroutine of its own that can't be recovered from.
	for _, s := range sources(t, false) {
		if under(s.folder, "scripts", "internal/testfootage") {
			continue
		}
		for _, call := range []string{"imaging.Open(", "imaging.Decode("} {
			if strings.Contains(text(t, s.name), call) {
				t.Errorf("%s calls %s...)", s.name, call)
			}
		}
	}
}
