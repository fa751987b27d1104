package safefile

import (
	"os"
	"path/filepath"
	"testing"
)

func TestReadersShareAFileAndAWriterHasItAlone(t *testing.T) {
	path := filepath.Join(t.TempDir(), "lock")
	if err := os.WriteFile(path, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	open := func() *os.File {
		f, err := os.OpenFile(path, os.O_RDWR, 0)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { f.Close() })
		return f
	}
	first, second, writer := open(), open(), open()
	ask := func(f *os.File, alone, want bool) {
		t.Helper()
		if taken, err := Lock(f, alone); taken != want || err != nil {
			t.Errorf("alone %v: taken %v, %v", alone, taken, err)
		}
	}
	ask(first, false, true)
	ask(second, false, true)
	ask(writer, true, false)
	first.Close()
	ask(writer, true, false)
	second.Close()
	ask(writer, true, true)
	ask(open(), false, false)
}
