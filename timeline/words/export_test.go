package words

import (
	"io/fs"
	"testing"
)

// With puts the languages of from in the place of the program's own for one test.
func With(t testing.TB, from fs.FS) {
	t.Helper()
	l, err := load(from)
	if err != nil {
		t.Fatal(err)
	}
	before := shelf
	shelf = func() *library { return l }
	t.Cleanup(func() { shelf = before })
}

// Files are the program's own language files.
var Files = files
