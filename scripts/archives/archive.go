package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/flate"
	"compress/gzip"
	"io"
	"io/fs"
	"slices"
	"strings"
	"time"
)

// A file is one member of an archive or package.
type file struct {
	name string // relative, with forward slashes
	mode fs.FileMode
	data []byte
}

func sorted(files []file) []file {
	return slices.SortedFunc(slices.Values(files), func(a, b file) int { return strings.Compare(a.name, b.name) })
}

// tarGz returns a tar.gz of files below the folder top. The bytes depend on nothing but
// the arguments: sorted names, one time, root as the owner.
func tarGz(top string, files []file, at time.Time) ([]byte, error) {
	var out bytes.Buffer
	packed, err := gzip.NewWriterLevel(&out, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	w := tar.NewWriter(packed)
	for _, f := range sorted(files) {
		header := &tar.Header{Typeflag: tar.TypeReg, Name: top + "/" + f.name, Mode: int64(f.mode), Size: int64(len(f.data)), ModTime: at, Format: tar.FormatUSTAR, Uname: "root", Gname: "root"}
		if err := w.WriteHeader(header); err != nil {
			return nil, err
		}
		if _, err := w.Write(f.data); err != nil {
			return nil, err
		}
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	err = packed.Close()
	return out.Bytes(), err
}

// zipped is tarGz for a zip file.
func zipped(top string, files []file, at time.Time) ([]byte, error) {
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	w.RegisterCompressor(zip.Deflate, func(w io.Writer) (io.WriteCloser, error) { return flate.NewWriter(w, flate.BestCompression) })
	for _, f := range sorted(files) {
		header := &zip.FileHeader{Name: top + "/" + f.name, Method: zip.Deflate, Modified: at}
		header.SetMode(f.mode)
		member, err := w.CreateHeader(header)
		if err != nil {
			return nil, err
		}
		if _, err := member.Write(f.data); err != nil {
			return nil, err
		}
	}
	err := w.Close()
	return out.Bytes(), err
}

// gzipped returns data as gzip -n -9 packs it: without a name or a time.
func gzipped(data []byte) ([]byte, error) {
	var out bytes.Buffer
	w, err := gzip.NewWriterLevel(&out, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	if _, err := w.Write(data); err != nil {
		return nil, err
	}
	err = w.Close()
	return out.Bytes(), err
}
