package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"io"
	"io/fs"
	"slices"
	"testing"
	"time"
)

// A member as an archive tells it.
type told struct {
	name string
	mode fs.FileMode
	text string
	at   time.Time
}

func TestArchivesAreTheSameInAnyOrder(t *testing.T) {
	at := time.Date(2026, 3, 4, 5, 6, 8, 0, time.UTC)
	files := []file{{"pushcue", 0o755, []byte("program")}, {"README.md", 0o644, []byte("words")}, {"licences/go/LICENSE", 0o644, []byte("terms")}}
	turned := slices.Clone(files)
	slices.Reverse(turned)
	want := []told{{"top/README.md", 0o644, "words", at}, {"top/licences/go/LICENSE", 0o644, "terms", at}, {"top/pushcue", 0o755, "program", at}}
	for name, c := range map[string]struct {
		pack func(string, []file, time.Time) ([]byte, error)
		list func(*testing.T, []byte) []told
	}{"tar.gz": {tarGz, listTarGz}, "zip": {zipped, listZip}} {
		one, err := c.pack("top", files, at)
		if err != nil {
			t.Fatal(err)
		}
		other, err := c.pack("top", turned, at.In(time.FixedZone("elsewhere", 3600)))
		if err != nil {
			t.Fatal(err)
		}
		if name == "tar.gz" && !bytes.Equal(one, other) {
			t.Errorf("%s: the order or the zone of the call shows", name)
		}
		if got := c.list(t, one); !slices.Equal(got, want) {
			t.Errorf("%s holds %v", name, got)
		}
		again, err := c.pack("top", turned, at)
		if err != nil || !bytes.Equal(one, again) {
			t.Errorf("%s: the order of the call shows (%v)", name, err)
		}
	}
}

func listTarGz(t *testing.T, data []byte) (all []told) {
	t.Helper()
	unpacked, err := gzip.NewReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	r := tar.NewReader(unpacked)
	for {
		h, err := r.Next()
		if err == io.EOF {
			return all
		}
		if err != nil {
			t.Fatal(err)
		}
		if h.Uid != 0 || h.Gid != 0 || h.Uname != "root" {
			t.Errorf("%s belongs to %d %s", h.Name, h.Uid, h.Uname)
		}
		text, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, told{h.Name, h.FileInfo().Mode().Perm(), string(text), h.ModTime.UTC()})
	}
}

func listZip(t *testing.T, data []byte) (all []told) {
	t.Helper()
	r, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range r.File {
		member, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(member)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, told{f.Name, f.Mode().Perm(), string(text), f.Modified.UTC()})
	}
	return all
}

// TestPackagesHoldWhatArchivesHold catches a document that was renamed for the archives and
// would be empty in the packages.
func TestPackagesHoldWhatArchivesHold(t *testing.T) {
	r := release{version: "1.2.0-rc.1", at: time.Unix(1e9, 0)}
	for _, name := range []string{"completions/pushcue.bash", "completions/_pushcue", "completions/pushcue.fish", "man/pushcue.1", "CHANGELOG.md", "LICENSE", "licences/go/LICENSE"} {
		r.common = append(r.common, file{name, 0o644, []byte("text of " + name)})
	}
	members, err := r.members(file{"pushcue", 0o755, []byte("program")})
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range members {
		if len(m.data) == 0 || (m.Mode == 0o755) != (m.Into == "/usr/bin/pushcue") {
			t.Errorf("%s: %d bytes, mode %o", m.Into, len(m.data), m.Mode)
		}
		if m.Into == "/usr/share/doc/pushcue/copyright" && (!bytes.Contains(m.data, []byte("text of LICENSE")) || !bytes.Contains(m.data, []byte("  go\n"))) {
			t.Errorf("the licences are incomplete:\n%s", m.data)
		}
	}
	if got := debianVersion(r.version); got != "1.2.0~rc.1" {
		t.Errorf("Debian's version is %s", got)
	}
}
