package bag

import (
	"archive/tar"
	"archive/zip"
	"os"
	"path/filepath"
	"strings"
)

// Is tells whether a folder, .tar or .zip looks like a bag: it holds the
// declaration where a bag has it (RFC 8493 sections 2.1.1 and 4). An archive too
// damaged to tell isn't one.
func Is(target string) bool {
	switch FormOf(target) {
	case Tar:
		return tarIs(target)
	case Zip:
		return zipIs(target)
	}
	info, err := os.Stat(filepath.Join(target, declaration))
	return err == nil && info.Mode().IsRegular()
}

// tarIs looks at the first files only: ours begins with the declaration, and
// looking for it all through an archive of another kind could take an hour.
func tarIs(target string) bool {
	f, err := os.Open(target)
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
	in, err := zip.OpenReader(target)
	if err != nil {
		return false
	}
	defer in.Close()
	for _, f := range in.File {
		if isDeclaration(f.Name) {
			return true
		}
	}
	return false
}

// isDeclaration: the one folder of an archive, and the declaration in it.
func isDeclaration(name string) bool {
	name = strings.TrimPrefix(name, "./")
	return strings.HasSuffix(name, "/"+declaration) && strings.Count(name, "/") == 1
}
