package job

import (
	"os"
	"time"
)

// Stamp tells whether a file is still the one that was read.
type Stamp struct {
	path string
	size int64
	at   time.Time
}

func StampOf(path string) Stamp {
	one := Stamp{path: path}
	if info, err := os.Stat(path); err == nil {
		one.size, one.at = info.Size(), info.ModTime()
	}
	return one
}
