package job

import (
	"os"
)

// RecordedBytes is the size of the recording's files.
func (j *Job) RecordedBytes() int64 {
	var n int64
	for _, v := range j.Videos {
		if info, err := os.Stat(v.Path); err == nil {
			n += info.Size()
		}
	}
	return n
}
