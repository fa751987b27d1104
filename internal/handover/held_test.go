package handover

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pushcue/internal/safefile"
)

// While a handover is made the recording is exchanged for another one under its name:
// nothing that was made of the other one is recorded as made of the first.
func TestASourceExchangedWhileItIsReadIsFound(t *testing.T) {
	dir := frozen(t, "small")
	must(t, os.RemoveAll(filepath.Join(dir, "handover")))
	must(t, os.RemoveAll(filepath.Join(dir, "work")))
	push, swapped := filepath.Join(dir, "push.mp4"), false
	undo := safefile.OnEachStep(func(op, path string) error {
		if op == "create" && strings.Contains(path, "unfinished-") && !swapped { // its sum is known, and something is about to be published
			swapped = true
			other := content(t, push)
			must(t, os.Rename(push, push+".aside"))
			overwrite(t, push, other)
		}
		return nil
	})
	defer undo()
	v, err := Open(t.Context(), Ask{Path: dir})
	must(t, err)
	_, err = Make(t.Context(), realTools(t), v, Options{Only: []string{"subtitles", "log"}}, nil)
	if !swapped || err == nil || !strings.Contains(err.Error(), "changed while it was read") {
		t.Errorf("exchanged: %v; %v", swapped, err)
	}
	if text := content(t, filepath.Join(dir, "work", "handover.record")); text != "" {
		t.Errorf("recorded: %s", text)
	}
}
