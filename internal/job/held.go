package job

import (
	"errors"
	"io/fs"
	"os"

	"pushcue/internal/reach"
)

// Hold decides which files the job's sources are, until release: what is told of them by
// their sums must hold for what ffmpeg reads, and for what is copied. One that is exchanged
// or written to meanwhile can't be opened any more. Spoken notes and photos, of which
// there may be hundreds, aren't kept open; one that can't be read goes without.
func (j *Job) Hold() (release func(), err error) {
	if j.held != nil {
		return func() {}, nil
	}
	held := map[string]*reach.Source{}
	for _, s := range j.Files() {
		held[s.Path] = j.Pinned(s)
	}
	release = func() {
		j.held = nil
		for _, s := range held {
			s.Release()
		}
	}
	for _, s := range j.Needed() {
		if err := held[s.Path].Keep(); err != nil {
			release()
			return nil, UnreadableSource(s, err)
		}
	}
	j.held = held
	return release, nil
}

// Pinned is a file of the job that stays the same one however often it is opened; see
// reach.Source.
func (j *Job) Pinned(s Source) *reach.Source {
	if held := j.held[s.Path]; held != nil {
		return held
	}
	return j.Reach.Source(s.Path, s.Name, j.most(s))
}

// Open opens a file of the job for reading, as far as the job may reach.
func (j *Job) Open(s Source) (*os.File, error) { return j.Pinned(s).Open() }

// Unchanged is the fault of a source whose path leads to another file by now, or that
// was written to.
func (j *Job) Unchanged() error {
	for _, s := range j.Needed() {
		err := j.Pinned(s).Unchanged()
		if errors.Is(err, fs.ErrNotExist) {
			return changedSource(s)
		}
		if err != nil {
			return UnreadableSource(s, err)
		}
	}
	return nil
}
