package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/flate"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// refused runs verify on something made to do harm: it must end, with one sentence on
// what is wrong.
func (d desk) refused(path, want string) {
	d.Helper()
	code, out, errs := inProcess(d.T, "verify", path)
	if code != exitUnproven {
		d.Errorf("verify %s ended with %d:\n%s%s", path, code, out, errs)
	}
	if !strings.Contains(out, want) {
		d.Errorf("%q isn't said in:\n%s", want, out)
	}
	if strings.Count(out, "\n") > 3 {
		d.Errorf("more than one sentence:\n%s", out)
	}
}

func TestArchivesMadeToDoHarmAreRefused(t *testing.T) {
	t.Parallel()
	d := desk{T: t}
	dir := t.TempDir()
	declaration := "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
	for _, name := range []string{"bag/../../escaped", "../escaped", "/etc/escaped", "bag/data/../../../escaped", `bag\..\..\escaped`, "C:/escaped", "bag/~/../../x"} {
		path := filepath.Join(dir, "escape.tar")
		var out bytes.Buffer
		w := tar.NewWriter(&out)
		for _, n := range []string{"bag/bagit.txt", name} {
			must(t, w.WriteHeader(&tar.Header{Name: n, Size: int64(len(declaration)), Mode: 0o644}))
			_, err := io.WriteString(w, declaration)
			must(t, err)
		}
		must(t, w.Close())
		must(t, os.WriteFile(path, out.Bytes(), 0o644))
		d.refused(path, "unpacking might write outside its folder: don't unpack it")

		path = filepath.Join(dir, "escape.zip")
		out.Reset()
		z := zip.NewWriter(&out)
		for _, n := range []string{"bag/bagit.txt", name} {
			f, err := z.Create(n)
			must(t, err)
			_, err = io.WriteString(f, declaration)
			must(t, err)
		}
		must(t, z.Close())
		must(t, os.WriteFile(path, out.Bytes(), 0o644))
		d.refused(path, "unpacking might write outside its folder: don't unpack it")
	}

	zeros := deflated(t, 64<<20)
	for name, claim := range map[string]uint64{"claims-a-petabyte.zip": 1 << 50, "claims-little.zip": 10, "claims-more-than-there-can-be.zip": 1<<64 - 1} {
		path := filepath.Join(dir, name)
		var out bytes.Buffer
		z := zip.NewWriter(&out)
		f, err := z.Create("bag/bagit.txt")
		must(t, err)
		_, err = io.WriteString(f, declaration)
		must(t, err)
		raw, err := z.CreateRaw(&zip.FileHeader{Name: "bag/data/zeros", Method: zip.Deflate, UncompressedSize64: claim, CompressedSize64: uint64(len(zeros))})
		must(t, err)
		_, err = raw.Write(zeros)
		must(t, err)
		must(t, z.Close())
		must(t, os.WriteFile(path, out.Bytes(), 0o644))
		if claim == 10 {
			d.run(6, "verify", path) // no more than it claims is unpacked
			continue
		}
		d.refused(path, "claims to hold far more")
	}

	hole := filepath.Join(dir, "bag", "data", "hole")
	writeTo(t, hole, "")
	must(t, os.Truncate(hole, 1<<40))
	sparse := filepath.Join(dir, "sparse.tar")
	if out, err := exec.Command("tar", "-C", dir, "-S", "--format=posix", "-cf", sparse, "bag").CombinedOutput(); err != nil {
		t.Fatalf("tar: %v\n%s", err, out)
	}
	d.refused(sparse, "claims to hold far more")
}

func deflated(t *testing.T, zeros int) []byte {
	t.Helper()
	var out bytes.Buffer
	w, err := flate.NewWriter(&out, 9)
	must(t, err)
	_, err = w.Write(make([]byte, zeros))
	must(t, err)
	must(t, w.Close())
	return out.Bytes()
}

// A list of sums that names what lies elsewhere is refused; files that are no files
// are named, and never opened.
func TestHandoversMadeToDoHarmAreRefused(t *testing.T) {
	t.Parallel()
	d := newDesk(t)
	list := filepath.Join(d.handover(), "SHA256SUMS")
	whole := read(t, list)
	sum := strings.Repeat("0", 64)
	for _, name := range []string{"../job.toml", "/etc/passwd", "/dev/zero", "stills/../../job.toml", `..\job.toml`, "C:/Windows/x", "~/x", "./index.html", ""} {
		writeTo(t, list, whole+sum+"  "+name+"\n")
		d.refused(d.handover(), "the list of sums can't be read, so nothing can be proven")
		said(t, d.run(4, "copy", d.job, t.TempDir()), "run `pushcue make` again")
	}
	writeTo(t, list, strings.Replace(whole, whole[:64], sum, 1)+"x")
	d.refused(d.handover(), "the list of sums can't be read, so nothing can be proven")
	writeTo(t, list, whole)

	page := filepath.Join(d.handover(), "index.html")
	outside := filepath.Join(t.TempDir(), "page")
	copyTo(t, page, outside)
	for what, put := range map[string]func() error{
		"a link to the same bytes": func() error { return os.Symlink(outside, page) },
		"a pipe":                   func() error { return syscall.Mkfifo(page, 0o644) },
		"a folder":                 func() error { return os.Mkdir(page, 0o755) },
	} {
		must(t, os.Remove(page))
		must(t, put())
		want := `changed: "index.html" isn't what it was: it is no longer a plain file`
		if what == "a folder" {
			want = `missing: "index.html" is gone`
		}
		d.refused(d.handover(), want)
	}
}
