package desktop

import (
	"path/filepath"
	"testing"
)

func TestOnlyWholePathsAreOpened(t *testing.T) {
	t.Setenv("PATH", t.TempDir()) // nothing is there to open with
	whole, err := filepath.Abs("report.pdf")
	if err != nil {
		t.Fatal(err)
	}
	for target, allowed := range map[string]bool{
		whole: true, "http://127.0.0.1:8080/#enter=x": false, "http://127.0.0.1:8080/": false,
		"report.pdf": false, "-x": false, "http://example.org/": false, "https://127.0.0.1:1/": false, "javascript:alert(1)": false, "": false,
	} {
		err := Open(t.Context(), target)
		if (err == ErrNone) != allowed || err == nil {
			t.Errorf("%q: %v", target, err)
		}
	}
}
