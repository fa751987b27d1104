//go:build linux

package testdrive

import (
	"context"
	"strings"
	"syscall"

	"github.com/hanwen/go-fuse/v2/fs"
	"github.com/hanwen/go-fuse/v2/fuse"
)

// node is a file or folder on the drive.
type node struct {
	*fs.LoopbackNode
	drive *Drive
}

func (n *node) WrapChild(_ context.Context, ops fs.InodeEmbedder) fs.InodeEmbedder {
	return &node{LoopbackNode: ops.(*fs.LoopbackNode), drive: n.drive}
}

// Statfs tells the room that is left, in clusters of 4 KiB.
func (n *node) Statfs(_ context.Context, out *fuse.StatfsOut) syscall.Errno {
	const cluster, plenty = 4 << 10, 1 << 20
	*out = fuse.StatfsOut{Bsize: cluster, Frsize: cluster, NameLen: 255, Blocks: plenty, Bfree: plenty, Bavail: plenty}
	if r := n.drive.now(); r.Room > 0 {
		out.Blocks = uint64(r.Room) / cluster
		out.Bfree = uint64(max(0, r.Room-n.drive.used())) / cluster
		out.Bavail = out.Bfree
	}
	return 0
}

// refuses tells whether a name can't be had.
func (n *node) refuses(name string) syscall.Errno {
	r := n.drive.now()
	switch {
	case r.ReadOnly:
		return syscall.EROFS
	case r.Names && (strings.ContainsAny(name, `\:*?"<>|`) || strings.TrimRight(name, " .") != name):
		return syscall.EINVAL
	}
	return 0
}

func (n *node) Create(ctx context.Context, name string, flags, mode uint32, out *fuse.EntryOut) (*fs.Inode, fs.FileHandle, uint32, syscall.Errno) {
	if no := n.refuses(name); no != 0 {
		return nil, nil, 0, no
	}
	child, h, how, no := n.LoopbackNode.Create(ctx, name, flags, mode, out)
	return child, &handle{h, n.drive, name}, how, no
}

func (n *node) Open(ctx context.Context, flags uint32) (fs.FileHandle, uint32, syscall.Errno) {
	if n.drive.now().ReadOnly && flags&syscall.O_ACCMODE != syscall.O_RDONLY {
		return nil, 0, syscall.EROFS
	}
	h, how, no := n.LoopbackNode.Open(ctx, flags)
	return &handle{h, n.drive, n.EmbeddedInode().Path(nil)}, how, no
}

func (n *node) Mkdir(ctx context.Context, name string, mode uint32, out *fuse.EntryOut) (*fs.Inode, syscall.Errno) {
	if no := n.refuses(name); no != 0 {
		return nil, no
	}
	return n.LoopbackNode.Mkdir(ctx, name, mode, out)
}

func (n *node) Rename(ctx context.Context, name string, to fs.InodeEmbedder, newName string, flags uint32) syscall.Errno {
	if no := n.refuses(newName); no != 0 {
		return no
	}
	return n.LoopbackNode.Rename(ctx, name, to.(*node).LoopbackNode, newName, flags)
}

// handle is an open file.
type handle struct {
	fs.FileHandle
	drive *Drive
	name  string
}

func (h *handle) Read(ctx context.Context, into []byte, at int64) (fuse.ReadResult, syscall.Errno) {
	got, no := h.FileHandle.(fs.FileReader).Read(ctx, into, at)
	flips := h.drive.now().Flips
	if no != 0 || flips == "" || !strings.Contains(h.name, flips) {
		return got, no
	}
	bytes, status := got.Bytes(make([]byte, len(into)))
	if status == fuse.OK && at == 0 && len(bytes) > 0 {
		bytes[len(bytes)/2] ^= 0x10
	}
	return fuse.ReadResultData(bytes), syscall.Errno(status)
}

func (h *handle) Write(ctx context.Context, data []byte, at int64) (uint32, syscall.Errno) {
	if no := h.drive.writing(at, int64(len(data))); no != 0 {
		return 0, no
	}
	return h.FileHandle.(fs.FileWriter).Write(ctx, data, at)
}

func (h *handle) Flush(ctx context.Context) syscall.Errno {
	return h.FileHandle.(fs.FileFlusher).Flush(ctx)
}

func (h *handle) Fsync(ctx context.Context, flags uint32) syscall.Errno {
	return h.FileHandle.(fs.FileFsyncer).Fsync(ctx, flags)
}

func (h *handle) Release(ctx context.Context) syscall.Errno {
	return h.FileHandle.(fs.FileReleaser).Release(ctx)
}
