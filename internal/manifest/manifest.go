// Package manifest holds lists of checksums: it makes them, reads and writes them
// in the two forms that others can check too, and tells what has changed in a
// folder since one was made.
//
//	list, err := manifest.Sum(ctx, root, names, []manifest.Algorithm{manifest.SHA256}, nil)
//	err = manifest.WriteCoreutils(w, manifest.SHA256, list)
//	findings, err := manifest.Compare(ctx, root, list, manifest.Options{})
//
// It promises nothing about who made a list: somebody who may change the files may
// change the list with them. Keep a copy of the list, or its own sum, elsewhere.
package manifest

import (
	"crypto/md5"
	"crypto/sha1"
	"crypto/sha256"
	"crypto/sha3"
	"crypto/sha512"
	"fmt"
	"hash"
	"path"
	"strings"
)

// Algorithm is a checksum's name as BagIt and coreutils spell it.
type Algorithm string

const (
	SHA256 Algorithm = "sha256" // FIPS 180-4
	SHA512 Algorithm = "sha512" // FIPS 180-4
)

// makers are the sums that can be made. New lists are made of SHA-256 and SHA-512 alone;
// the rest is for lists of others. MD5 and SHA-1 show damage, not intent.
var makers = map[Algorithm]func() hash.Hash{
	SHA256: sha256.New, SHA512: sha512.New,
	"md5": md5.New, "sha1": sha1.New, // RFC 1321, FIPS 180-4
	"sha224": sha256.New224, "sha384": sha512.New384, // FIPS 180-4
	"sha3224": func() hash.Hash { return sha3.New224() }, "sha3256": func() hash.Hash { return sha3.New256() }, // FIPS 202
	"sha3384": func() hash.Hash { return sha3.New384() }, "sha3512": func() hash.Hash { return sha3.New512() },
}

// New starts a sum.
func (a Algorithm) New() (hash.Hash, error) {
	if begin, known := makers[a]; known {
		return begin(), nil
	}
	return nil, fmt.Errorf("no way to make sums of the kind %q", string(a))
}

// HexLen is the number of hexadecimal digits of a sum, 0 for an unknown algorithm.
func (a Algorithm) HexLen() int {
	h, err := a.New()
	if err != nil {
		return 0
	}
	return 2 * h.Size()
}

// An Entry is one file of a list.
type Entry struct {
	Name string               // relative to the list's root, forward slashes
	Size int64                // bytes; -1 when the list doesn't say
	Sums map[Algorithm]string // lower-case hexadecimal
}

// CheckName refuses a name that would lead out of the folder or mean different
// things on different systems.
func CheckName(name string) error {
	switch {
	case name == "":
		return fmt.Errorf("a file in the list has no name")
	case strings.ContainsRune(name, 0):
		return fmt.Errorf("the name %q holds a zero byte", name)
	case strings.HasPrefix(name, "/"), strings.HasPrefix(name, "~"), len(name) > 1 && name[1] == ':':
		return fmt.Errorf("the name %q points outside the folder", name)
	}
	for _, part := range strings.FieldsFunc(name, func(r rune) bool { return r == '/' || r == '\\' }) {
		if part == ".." {
			return fmt.Errorf("the name %q points outside the folder", name)
		}
	}
	if path.Clean(name) != name {
		return fmt.Errorf("the name %q isn't written plainly", name)
	}
	return nil
}
