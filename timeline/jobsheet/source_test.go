package jobsheet

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"pushcue/timeline/fault"
)

// disk opens files of a map by absolute slash paths.
func disk(files map[string]string) Opener {
	m := fstest.MapFS{}
	for name, text := range files {
		m[strings.TrimPrefix(name, "/")] = &fstest.MapFile{Data: []byte(text)}
	}
	return func(path string) (io.ReadCloser, error) {
		return m.Open(strings.TrimPrefix(filepath.ToSlash(path), "/"))
	}
}

func TestSheetsAreFoundAndInherited(t *testing.T) {
	open := disk(map[string]string{
		"/jobs/firm.toml":               "[firm]\nname='Invented Drains'\nlogo='logo.png'\n[job]\nlanguage='fr'\nunits='ft'\n[log]\nkinds='kinds.csv'\n[captions]\nstrip='below'\n",
		"/firm.toml":                    "[firm]\nname='Too far up'\n",
		"/jobs/visit/visit.toml":        "[customer]\nname='C. Ustomer'\n[site]\naddress='1 Invented Street'\n[job]\ndate=2026-03-02\nunits='m'\n",
		"/jobs/visit/upstream/job.toml": "[firm]\nphone='1'\n[job]\nreference='7'\n[captions]\nstrip='none'\n",
	})
	from, err := Find(context.Background(), Place{Dir: "/jobs/visit/upstream", Settings: "/settings"}, open)
	if err != nil {
		t.Fatal(err)
	}
	s, err := Read(from)
	if err != nil {
		t.Fatal(err)
	}
	for what, same := range map[string]bool{
		"firm":     s.Firm.Name == "Invented Drains" && s.Firm.Phone == "1",
		"logo":     s.Firm.Logo == "logo.png" && filepath.ToSlash(s.Firm.LogoDir) == "/jobs",
		"kinds":    s.Log.Kinds == "/jobs/kinds.csv",
		"language": s.Job.Language == "fr",
		"units":    s.Job.Units == "m",
		"customer": s.Customer.Name == "C. Ustomer" && s.Site.Address == "1 Invented Street",
		"date":     s.Job.Date.String() == "2026-03-02",
		"captions": s.Captions.Strip == "none" && s.Captions.Show == "place",
		"file":     filepath.ToSlash(s.File) == "/jobs/visit/upstream/job.toml",
	} {
		if !same {
			t.Errorf("%s: %+v", what, s)
		}
	}
}

func TestFirmComesFromTheSettingsLast(t *testing.T) {
	open := disk(map[string]string{"/settings/firm.toml": "[firm]\nname='Invented Drains'\n"})
	from, err := Find(context.Background(), Place{Dir: "/jobs/a", Settings: "/settings"}, open)
	if err != nil || from.Firm == nil || from.Job != nil || from.Visit != nil {
		t.Fatalf("%+v %v", from, err)
	}
}

func TestFaultsNameTheirOwnSheet(t *testing.T) {
	_, err := Read(Sources{
		Firm:  &Source{File: "firm.toml", Data: []byte("[line]\nname='x'\n")},
		Visit: &Source{File: "visit.toml", Data: []byte("[customer]\nnmae='x'\n[[anchor]]\nrow=1\n")},
		Job:   &Source{File: "job.toml", Data: []byte("[job\n")},
	})
	faults, _ := fault.In(err)
	var all []string
	for _, f := range faults {
		all = append(all, f.File+" "+f.Text.String())
	}
	if len(all) != 4 || all[0] != "firm.toml this key doesn't belong in firm.toml" ||
		!strings.HasPrefix(all[1], "visit.toml there is no key") || all[2] != "visit.toml this key doesn't belong in visit.toml" ||
		!strings.HasPrefix(all[3], "job.toml") {
		t.Errorf("%q", all)
	}
}

func TestNamedSheetMustExist(t *testing.T) {
	_, err := Find(context.Background(), Place{Dir: "/jobs/a", Sheet: "/jobs/a/my.toml"}, disk(nil))
	if faults, ok := fault.In(err); !ok || faults[0].Hint.Empty() {
		t.Errorf("%v", err)
	}
}

func TestUnreadableSheetIsAFault(t *testing.T) {
	refuse := func(path string) (io.ReadCloser, error) {
		return nil, &fs.PathError{Op: "open", Path: path, Err: fs.ErrPermission}
	}
	_, err := Find(context.Background(), Place{Dir: "/jobs/a"}, refuse)
	if faults, ok := fault.In(err); !ok || !strings.Contains(faults[0].Text.String(), "permission") {
		t.Errorf("%v", err)
	}
}

func TestFindingStopsWhenToldTo(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Find(ctx, Place{Dir: "/jobs/a"}, disk(nil)); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
}

func TestHugeSheetIsNotReadWhole(t *testing.T) {
	read := 0
	endless := func(string) (io.ReadCloser, error) {
		return io.NopCloser(readerFunc(func(b []byte) (int, error) { read += len(b); return len(b), nil })), nil
	}
	from, err := Find(context.Background(), Place{Dir: "/a"}, endless)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Read(from); err == nil || read > 8*MaxBytes {
		t.Errorf("%d bytes read, %v", read, err)
	}
}

type readerFunc func([]byte) (int, error)

func (f readerFunc) Read(b []byte) (int, error) { return f(b) }
