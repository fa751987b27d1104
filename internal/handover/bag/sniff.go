package bag

import (
	"archive/tar"
	"archive/zip"
	"encoding/binary"
	"io"
	"os"
	"path/filepath"
	"strings"

	"pushcue/internal/reach"
)

// Is tells whether a folder, .tar or .zip looks like a bag: it holds the declaration
// where a bag has it (RFC 8493 section 2.1.1), or what else makes one where that is
// gone. An archive too damaged to tell isn't one.
func Is(target string) bool {
	switch FormOf(target) {
	case Tar:
		return tarIs(target)
	case Zip:
		return zipIs(target)
	}
	has := func(name string, dir bool) bool {
		info, err := os.Lstat(filepath.Join(target, name))
		return err == nil && info.IsDir() == dir
	}
	if has(declaration, false) {
		return true
	}
	return has(readMe, false) && has(strings.TrimSuffix(payloadDir, "/"), true)
}

// tarIs looks at the first files only: ours begins with the declaration, and
// looking for it all through an archive of another kind could take an hour.
func tarIs(target string) bool {
	f, err := reach.Open(target, reach.AnySize)
	if err != nil {
		return false
	}
	defer f.Close()
	in := tar.NewReader(f)
	for range 64 {
		header, err := in.Next()
		if err != nil {
			return false
		}
		if isDeclaration(header.Name) {
			return true
		}
	}
	return false
}

func zipIs(target string) bool {
	file, err := reach.Open(target, reach.AnySize)
	if err != nil {
		return false
	}
	defer file.Close()
	info, err := file.Stat()
	if err != nil {
		return false
	}
	in, err := zip.NewReader(file, info.Size())
	if err != nil {
		return startsAsOurs(file)
	}
	for _, f := range in.File {
		if isDeclaration(f.Name) {
			return true
		}
	}
	return false
}

// startsAsOurs looks at the first file of a .zip whose list of contents, at its end,
// is gone: ours begins with the declaration.
func startsAsOurs(f io.ReaderAt) bool {
	head := make([]byte, 30+512) // a file's header and the longest name we look at
	n, _ := f.ReadAt(head, 0)
	if n < 30 || string(head[:4]) != "PK\x03\x04" { // PKWARE's APPNOTE, section 4.3.7
		return false
	}
	name := head[30:n]
	if long := int(binary.LittleEndian.Uint16(head[26:])); long < len(name) {
		name = name[:long]
	}
	return isDeclaration(string(name))
}

// isDeclaration: the one folder of an archive, and the declaration in it.
func isDeclaration(name string) bool {
	name = strings.TrimPrefix(name, "./")
	return strings.HasSuffix(name, "/"+declaration) && strings.Count(name, "/") == 1
}
