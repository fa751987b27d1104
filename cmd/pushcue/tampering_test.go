package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"cmp"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pushcue/internal/testfootage"
)

// An archive in memory, to be written in each of its forms.
type archive map[string]string

const top = "2291-b-kitchen-lateral_2026-03-02/"

// written writes the archive as a form whose ending is given, and returns its path.
func (a archive) written(t *testing.T, dir, ending string) string {
	t.Helper()
	path := filepath.Join(dir, strings.TrimSuffix(top, "/")+ending)
	var out bytes.Buffer
	names := slices.Sorted(maps.Keys(a))
	switch ending {
	case ".tar":
		w := tar.NewWriter(&out)
		for _, name := range names {
			must(t, w.WriteHeader(&tar.Header{Name: top + name, Size: int64(len(a[name])), Mode: 0o644, Format: tar.FormatPAX}))
			_, err := w.Write([]byte(a[name]))
			must(t, err)
		}
		must(t, w.Close())
	case ".zip":
		w := zip.NewWriter(&out)
		for _, name := range names {
			f, err := w.CreateHeader(&zip.FileHeader{Name: top + name, Method: zip.Store})
			must(t, err)
			_, err = f.Write([]byte(a[name]))
			must(t, err)
		}
		must(t, w.Close())
	default:
		for _, name := range names {
			writeTo(t, filepath.Join(path, filepath.FromSlash(name)), a[name])
		}
		return path
	}
	must(t, os.WriteFile(path, out.Bytes(), 0o644))
	return path
}

func (a archive) flip(name string) {
	b := []byte(a[name])
	b[len(b)/2] ^= 1
	a[name] = string(b)
}

func (a archive) move(from, to string) {
	a[to] = a[from]
	delete(a, from)
}

// loseLine takes the line about a file out of a list of sums.
func (a archive) loseLine(list, name string) {
	var kept []string
	for line := range strings.Lines(a[list]) {
		if !strings.HasSuffix(line, "  "+name+"\n") {
			kept = append(kept, line)
		}
	}
	a[list] = strings.Join(kept, "")
}

// keptJob is a job of everything that a job may hold, archived as a folder.
func keptJob(t *testing.T) (desk, archive) {
	t.Helper()
	d := newDesk(t)
	for name, text := range map[string]string{
		"edits.jsonl":                        "{\"at\":1}\n",
		"spoken/03 nota.wav":                 "RIFF",
		"photos/access point.jpg":            "\xff\xd8",
		"notes/gr\u00f6\u00dfe.txt":          "composed",
		"notes/nin\u0303o/pen\u0303a.txt":    "decomposed",
		"notes/100 % done.txt":               "per cent",
		"notes/two\nlines\rand a return.txt": "odd",
	} {
		writeTo(t, filepath.Join(d.job, name), text)
	}
	out := d.run(3, "bag", d.job, "--as", "folder", "--as-it-is") // what was written above came after make
	said(t, out, "read back and the same", "seal:")
	return d, contents(t, filepath.Join(filepath.Dir(d.job), strings.TrimSuffix(top, "/")))
}

func TestEachTamperingWithAnArchiveIsNamed(t *testing.T) {
	d, whole := keptJob(t)
	const log, report, page = "data/log.csv", "data/handover/report.pdf", "data/handover/index.html"
	tamperings := []struct {
		name string
		do   func(a archive)
		want string
	}{
		{"a bit flips in a recording", func(a archive) { a.flip("data/tramo: 1?.mp4") }, `changed: "data/tramo: 1?.mp4"`},
		{"the log is changed", func(a archive) { a[log] = strings.Replace(a[log], "1.0 m", "2.0 m", 1) }, `changed: "data/log.csv"`},
		{"the job sheet is changed", func(a archive) { a["data/job.toml"] += "# x\n" }, `changed: "data/job.toml"`},
		{"a correction is changed", func(a archive) { a["data/edits.jsonl"] = "{\"at\":2}\n" }, `changed: "data/edits.jsonl"`},
		{"a spoken note is cut short", func(a archive) { a["data/spoken/03 nota.wav"] = "RIF" }, `changed: "data/spoken/03 nota.wav"`},
		{"the report is emptied", func(a archive) { a[report] = "" }, `changed: "data/handover/report.pdf"`},
		{"the page grows", func(a archive) { a[page] += " " }, `changed: "data/handover/index.html"`},
		{"a photo is removed", func(a archive) { delete(a, "data/photos/access point.jpg") }, `missing: "data/photos/access point.jpg" is gone`},
		{"a file is added", func(a archive) { a["data/photos/other.jpg"] = "x" }, `added: "data/photos/other.jpg" wasn't there before`},
		{"a hidden file is added", func(a archive) { a["data/.hidden"] = "x" }, `added: "data/.hidden"`},
		{"a file is renamed", func(a archive) { a.move(log, "data/log-old.csv") }, `renamed: "data/log.csv" is now called "data/log-old.csv"`},
		{"a file with an accent is renamed", func(a archive) { a.move("data/notes/nin\u0303o/pen\u0303a.txt", "data/notes/nino.txt") }, `is now called "data/notes/nino.txt"`},
		{"a file moves to another folder", func(a archive) { a.move(report, "data/report.pdf") }, `renamed: "data/handover/report.pdf" is now called "data/report.pdf"`},
		{"capitals of a name change", func(a archive) { a.move(log, "data/LOG.csv") }, `renamed: "data/log.csv" is now called "data/LOG.csv"`},
		{"two files are exchanged", func(a archive) { a[log], a["data/job.toml"] = a["data/job.toml"], a[log] }, `changed: "data/log.csv"`},
		{"a sum is changed in one list", func(a archive) { a.flip("manifest-sha512.txt") }, "manifest-sha512.txt"},
		{"one list loses a line", func(a archive) { a.loseLine("manifest-sha256.txt", log) }, `not all of them name "data/log.csv"`},
		{"both lists lose a line", func(a archive) {
			a.loseLine("manifest-sha256.txt", log)
			a.loseLine("manifest-sha512.txt", log)
		}, `added: "data/log.csv"`},
		{"a list is removed", func(a archive) { delete(a, "manifest-sha512.txt") }, `missing: "manifest-sha512.txt" is gone`},
		{"both lists are removed", func(a archive) {
			delete(a, "manifest-sha256.txt")
			delete(a, "manifest-sha512.txt")
		}, "the list of the payload's sums (manifest-sha512.txt) is missing"},
		{"the declaration is removed", func(a archive) { delete(a, "bagit.txt") }, "bagit.txt, which makes a folder a bag, is missing"},
		{"the declaration names another version", func(a archive) { a["bagit.txt"] = strings.Replace(a["bagit.txt"], "1.0", "9.0", 1) }, "version 9.0"},
		{"the description is changed", func(a archive) {
			a["bag-info.txt"] = strings.Replace(a["bag-info.txt"], "2291-B", "2292-B", 1)
		}, `changed: "bag-info.txt"`},
		{"the description is removed", func(a archive) { delete(a, "bag-info.txt") }, `missing: "bag-info.txt" is gone`},
		{"the explanation is changed", func(a archive) { a["WHAT-IS-THIS.txt"] += "x" }, `changed: "WHAT-IS-THIS.txt"`},
		{"a note is added at the top", func(a archive) { a["readme.txt"] = "x" }, `added: "readme.txt"`},
		{"all data are removed", func(a archive) {
			maps.DeleteFunc(a, func(name, _ string) bool { return strings.HasPrefix(name, "data/") })
		}, `missing: "data/log.csv" is gone`},
	}
	for _, ending := range []string{"", ".tar", ".zip"} {
		same := whole.written(t, t.TempDir(), ending)
		said(t, d.run(0, "verify", same), fmt.Sprintf("the archive is what it was: %d files", countData(whole)))
		for _, c := range tamperings {
			t.Run(c.name+" in a "+cmp.Or(ending, "folder"), func(t *testing.T) {
				t.Parallel()
				a := maps.Clone(whole)
				c.do(a)
				said(t, d.on(t).run(6, "verify", a.written(t, t.TempDir(), ending)), "the archive isn't what it was:", c.want)
			})
		}
	}
}

func countData(a archive) int {
	n := 0
	for name := range a {
		if strings.HasPrefix(name, "data/") {
			n++
		}
	}
	return n
}

// Every form comes back whole through the command, odd names and all.
func TestEachFormOfAnArchiveComesBack(t *testing.T) {
	t.Parallel()
	d, whole := keptJob(t)
	for _, form := range []string{"tar", "zip"} {
		to := t.TempDir()
		d.run(3, "bag", d.job, "--as", form, "--to", to, "--as-it-is")
		path := filepath.Join(to, strings.TrimSuffix(top, "/")+"."+form)
		d.run(0, "verify", path)
		got := unpacked(t, path)
		for name, text := range whole {
			if name != "bag-info.txt" && !strings.HasPrefix(name, "tagmanifest-") && got[name] != text {
				t.Errorf("%s: %q differs", form, name)
			}
		}
		if len(got) != len(whole) {
			t.Errorf("%s holds %d files, want %d", form, len(got), len(whole))
		}
	}
}

func unpacked(t *testing.T, path string) archive {
	t.Helper()
	all := archive{}
	if strings.HasSuffix(path, ".zip") {
		in, err := zip.OpenReader(path)
		must(t, err)
		defer in.Close()
		must(t, os.CopyFS(t.TempDir(), in)) // what any unpacker does
		for _, f := range in.File {
			r, err := f.Open()
			must(t, err)
			var text bytes.Buffer
			_, err = text.ReadFrom(r)
			must(t, err)
			all[strings.TrimPrefix(f.Name, top)] = text.String()
		}
		return all
	}
	f, err := os.Open(path)
	must(t, err)
	defer f.Close()
	for in := tar.NewReader(f); ; {
		h, err := in.Next()
		if err != nil {
			return all
		}
		var text bytes.Buffer
		_, err = text.ReadFrom(in)
		must(t, err)
		all[strings.TrimPrefix(h.Name, top)] = text.String()
	}
}

// A job without a number or a line's name, unpacked from its archive and made again
// where it lies, gives the same handover: names of files and all.
func TestAnUnpackedArchiveMakesTheSameHandover(t *testing.T) {
	t.Parallel()
	d := desk{T: t, job: filepath.Join(t.TempDir(), "Mrs Alder's lateral")}
	copyTo(t, testfootage.Numbered(t, testfootage.Spec{Frames: 100, Width: 160, Height: 120}), filepath.Join(d.job, "part1.mp4"))
	writeTo(t, filepath.Join(d.job, "log.csv"), "video,distance,what\n0:02,1.0 m,roots\n0:03,1.5 m,crack\n")
	writeTo(t, filepath.Join(d.job, "edits.jsonl"), `{"id":"a1","time":"2026-03-02T18:00:00Z","author":"ana","what":"sheet","values":{"line.material":"clay"}}`+"\n")
	d.run(0, "make", "--skip", "video,clips", d.job)
	d.run(0, "bag", d.job, "--as", "tar")
	archives, err := filepath.Glob(filepath.Join(filepath.Dir(d.job), "*.tar"))
	must(t, err)
	to := t.TempDir()
	tool(t, "tar", "-xf", archives[0], "-C", to)
	again := filepath.Join(to, strings.TrimSuffix(filepath.Base(archives[0]), ".tar"), "data")
	must(t, os.RemoveAll(filepath.Join(again, "handover")))
	d.run(0, "make", "--skip", "video,clips", again)
	want, got := contents(t, d.handover()), contents(t, filepath.Join(again, "handover"))
	for name, text := range want {
		if got[name] != text {
			t.Errorf("%s isn't the same", name)
		}
	}
	if len(got) != len(want) {
		t.Errorf("%d files, want %d", len(got), len(want))
	}
}
