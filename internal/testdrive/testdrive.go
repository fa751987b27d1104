//go:build linux

// Package testdrive stands in for a thumb drive in tests: a folder, mounted as a
// file system of its own, that takes no more than a drive formatted as FAT32 would,
// fills up, breaks, forgets bits or is pulled out when the test says so.
//
//	d := testdrive.Mount(t, testdrive.Rules{Room: 3 << 20})
//	run("copy", job, d.Dir)
//
// It needs Linux and the right to mount; Mount skips the test where there is none.
package testdrive

import (
	"os"
	"sync"
	"syscall"
	"testing"

	"github.com/hanwen/go-fuse/v2/fs"
	"github.com/hanwen/go-fuse/v2/fuse"
)

// Rules are what a drive does and doesn't. The zero value takes anything.
type Rules struct {
	Room     int64         // bytes of all files together; 0 for no limit
	Longest  int64         // bytes of a file; 0 for no limit
	Names    bool          // refuse what FAT32 can't have in a name
	Breaks   int64         // bytes after which nothing can be written; 0 for never
	With     syscall.Errno // what it then answers
	Flips    string        // of a file whose name holds this, a bit reads back wrong
	ReadOnly bool
	OnWrite  func(all int64) // told the bytes written so far, before each write
}

// A Drive is mounted until the test ends.
type Drive struct {
	Dir    string // where it is mounted
	Behind string // the folder that holds its files

	mu      sync.Mutex
	rules   Rules
	written int64
}

// Mount mounts an empty drive.
func Mount(t *testing.T, r Rules) *Drive {
	t.Helper()
	d := &Drive{Dir: t.TempDir(), Behind: t.TempDir(), rules: r}
	root := &fs.LoopbackRoot{Path: d.Behind}
	top := &node{LoopbackNode: &fs.LoopbackNode{RootData: root}, drive: d}
	root.RootNode = top
	server, err := fs.Mount(d.Dir, top, &fs.Options{MountOptions: fuse.MountOptions{
		FsName: "testdrive", Name: "testdrive", DirectMount: true, MaxWrite: 64 << 10,
	}})
	if err != nil {
		t.Skipf("no drive can be mounted here: %v", err)
	}
	t.Cleanup(func() {
		if err := server.Unmount(); err != nil {
			t.Errorf("unmounting %s: %v", d.Dir, err)
		}
	})
	return d
}

// Set changes the rules from here on and counts the bytes written anew.
func (d *Drive) Set(r Rules) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.rules, d.written = r, 0
}

// Limit changes the room alone, also while something is being written.
func (d *Drive) Limit(room int64) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.rules.Room = room
}

func (d *Drive) now() Rules {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.rules
}

// writing counts n more bytes and tells whether they can be taken.
func (d *Drive) writing(at, n int64) syscall.Errno {
	d.mu.Lock()
	r := d.rules
	d.written += n
	all := d.written
	d.mu.Unlock()
	if r.OnWrite != nil {
		r.OnWrite(all)
		r = d.now()
	}
	switch {
	case r.ReadOnly:
		return syscall.EROFS
	case r.Breaks > 0 && all > r.Breaks:
		return r.With
	case r.Longest > 0 && at+n > r.Longest:
		return syscall.EFBIG
	case r.Room > 0 && d.used()+n > r.Room:
		return syscall.ENOSPC
	}
	return 0
}

func (d *Drive) used() int64 {
	var n int64
	_ = walk(d.Behind, func(info os.FileInfo) { n += info.Size() })
	return n
}

func walk(dir string, each func(os.FileInfo)) error {
	entries, err := os.ReadDir(dir)
	for _, e := range entries {
		if e.IsDir() {
			_ = walk(dir+"/"+e.Name(), each)
		} else if info, err := e.Info(); err == nil {
			each(info)
		}
	}
	return err
}
