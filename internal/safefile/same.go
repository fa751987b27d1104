package safefile

import (
	"errors"
	"io/fs"
	"os"
)

// SameFile tells whether two paths lead to the same file: through other spellings,
// upper and lower case where the drive takes them for one, links of both kinds. A
// missing file is the same as none.
func SameFile(a, b string) (bool, error) {
	first, err := os.Stat(a)
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	second, err := os.Stat(b)
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	return os.SameFile(first, second), nil
}
