package job

import (
	"path/filepath"

	"pushcue/timeline/jobsheet"
)

// LooksLike tells what a job could be made of in a folder: its recordings and tables,
// as people count, and whether it is a job's or a visit's folder already.
func LooksLike(dir string) (videos, logs []string, isJob bool) {
	videos, _ = namesIn(dir, VideoEndings)
	logs, _ = namesIn(dir, logEndings)
	isJob = IsFile(filepath.Join(dir, jobsheet.JobFile)) || IsFile(filepath.Join(dir, jobsheet.VisitFile)) || len(videos) > 0
	if videos == nil {
		videos = []string{}
	}
	if logs == nil {
		logs = []string{}
	}
	return videos, logs, isJob
}
