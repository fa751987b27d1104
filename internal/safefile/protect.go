package safefile

import (
	"io/fs"
	"os"
	"sync"
)

// Protected is a set of files that are never removed, replaced or opened for writing
// through a Folder, whatever name leads to them. A nil one holds none.
type Protected struct {
	mu    sync.Mutex
	files []fs.FileInfo
}

// Add adds the file at path, through links. One that can't be described isn't added.
func (p *Protected) Add(path string) {
	info, err := os.Stat(path)
	if err != nil || !info.Mode().IsRegular() {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.files = append(p.files, info)
}

func (p *Protected) holds(info fs.FileInfo) bool {
	if p == nil || !info.Mode().IsRegular() {
		return false
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, one := range p.files {
		if os.SameFile(one, info) {
			return true
		}
	}
	return false
}

// Protect makes the folder, and those opened below it from now on, refuse to change
// the files of p.
func (f *Folder) Protect(p *Protected) { f.protected = p }
