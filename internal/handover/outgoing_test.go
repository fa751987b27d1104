package handover

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pushcue/internal/job"
	"pushcue/internal/shelf"
	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// finishedOf writes a handover by hand, with its list of sums, into a job folder.
func finishedOf(t *testing.T, j string, files map[string]string) *Finished {
	t.Helper()
	var list strings.Builder
	for _, name := range slices.Sorted(maps.Keys(files)) {
		overwrite(t, filepath.Join(j, job.OutName, filepath.FromSlash(name)), files[name])
		sum := sha256.Sum256([]byte(files[name]))
		fmt.Fprintf(&list, "%s  %s\n", hex.EncodeToString(sum[:]), name)
	}
	overwrite(t, filepath.Join(j, job.OutName, shelf.SumsName), list.String())
	f, err := Finish(context.Background(), job.Ask{Path: j})
	must(t, err)
	return f
}

// mp4With is the index of an MP4 with a track, and what else stands in its notes.
func mp4With(handler, notes string) string {
	box := func(name, body string) string {
		return fmt.Sprintf("\x00\x00%c%c%s%s", (8+len(body))>>8, (8+len(body))&255, name, body)
	}
	return box("ftyp", "isom") + box("moov", box("hdlr", strings.Repeat("\x00", 8)+handler+strings.Repeat("\x00", 12))+box("udta", notes)) + box("mdat", "+12.3456+123.4567/")
}

// locatedPhoto is the beginning of a JPEG whose camera's notes hold a latitude.
const locatedPhoto = "\xff\xd8\xff\xe1\x00\x3aExif\x00\x00II*\x00\x08\x00\x00\x00" +
	"\x01\x00\x25\x88\x04\x00\x01\x00\x00\x00\x1a\x00\x00\x00\x00\x00\x00\x00" +
	"\x01\x00\x02\x00\x05\x00\x03\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00"

func TestWhatWouldLeaveTheHouse(t *testing.T) {
	const nobody = `{"job":{"operator":"A. Alder"},"observations":[{"row":1,"what":"roots","note":"fine roots"}]}`
	for name, c := range map[string]struct {
		sheet string
		files map[string]string
		want  []string // "code: part of its sentence", in order
	}{
		"nothing but words":    {"", map[string]string{"timeline.json": nobody}, []string{"notes: nobody is named"}},
		"no words":             {"", map[string]string{"timeline.json": `{}`}, nil},
		"a silent film":        {"", map[string]string{"video/a.mp4": mp4With("vide", "")}, []string{"picture: isn't recognised"}},
		"a film with talk":     {"", map[string]string{"video/a.mp4": mp4With("soun", "")}, []string{"sound: can be heard", "picture: "}},
		"stills":               {"", map[string]string{"stills/01.jpg": "x"}, []string{"picture: "}},
		"a position in a film": {"", map[string]string{"as-filmed/a.mov": mp4With("vide", "\xa9xyz+38.7223-009.1393/")}, []string{"positions: as-filmed/a.mov (+38.7223-009.1393)", "as_filmed: 1 file,", "picture: "}},
		"a film of another kind may sound": {"", map[string]string{"as-filmed/a.ts": "G", "as-filmed/b.ts": "G"},
			[]string{"as_filmed: 2 files,", "sound: ", "picture: "}},
		"a track of positions": {"", map[string]string{"as-filmed/a.mp4": mp4With("meta", "gpmd")}, []string{"positions: in a track of its own", "as_filmed: ", "picture: "}},
		"photos":               {"", map[string]string{"photos/1.jpg": "x", "photos/2.jpg": locatedPhoto}, []string{"positions: a position: photos/2.jpg", "photos: 2 photos"}},
		"spoken notes":         {"", map[string]string{"spoken/1.m4a": "x"}, []string{"spoken: 1 spoken note:"}},
		"somebody of the sheet": {"[customer]\nname = \"Rowan Ashdale\"\n",
			map[string]string{"timeline.json": `{"observations":[{"row":4,"note":"ask ASHDALE first"}],"unplaced":[{"row":5,"what":"rowan ashdale's shed"}]}`},
			[]string{"notes: row 4 (Ashdale), row 5 (Rowan Ashdale)"}},
		"the customer of a handover whose job is gone": {"", map[string]string{"timeline.json": `{"job":{"customer":{"phone":"555 014 2233"},"reason":"call 5550142233"}}`},
			[]string{"notes: the job sheet's job.reason (555 014 2233)"}},
		"the technician": {"", map[string]string{"timeline.json": `{"job":{"operator":"A. Alder"},"set_aside":[{"row":2,"note":"alder was here"}]}`}, []string{"notes: row 2 (Alder)"}},
		"forms of address": {"", map[string]string{"timeline.json": `{"observations":[{"row":1,"note":"Mrs Kemp"},{"row":2,"note":"bei Frau Öst"},{"row":3,"note":"la Sra. Núñez Gil"},{"row":4,"note":"chez Mme d'Or"},{"row":5,"note":"chez M. Roux"}]}`},
			[]string{"notes: row 1 (Mrs Kemp), row 2 (Frau Öst), row 3 (Sra. Núñez Gil), row 5 (M. Roux);"}},
		"a visit": {"", map[string]string{"a/video/a.mp4": mp4With("soun", ""), "b/photos/1.jpg": "x"}, []string{"sound: ", "photos: 1 photo:", "picture: "}},
	} {
		j := filepath.Join(t.TempDir(), "job")
		overwrite(t, filepath.Join(j, "job.toml"), c.sheet)
		overwrite(t, filepath.Join(j, "rec.mp4"), "x")
		got, err := finishedOf(t, j, c.files).Outgoing(context.Background(), job.Ask{Path: j})
		must(t, err)
		if len(got) != len(c.want) {
			t.Errorf("%s: %v", name, got)
			continue
		}
		for i, want := range c.want {
			code, part, _ := strings.Cut(want, ": ")
			if got[i].Code != code || !strings.Contains(got[i].Text.String(), part) || got[i].Hint.Empty() {
				t.Errorf("%s: %s: %q, want %q", name, got[i].Code, got[i].Text, want)
			}
		}
	}
}

// Each line that the fault asks for settles its own item, and only all of them let it go.
func TestWhatGoesToABuyerIsDecidedInTheJobSheet(t *testing.T) {
	j := filepath.Join(t.TempDir(), "job")
	overwrite(t, filepath.Join(j, "rec.mp4"), "x")
	finishedOf(t, j, map[string]string{"as-filmed/a.mov": mp4With("soun", "+38.7223-009.1393/"), "spoken/1.m4a": "x", "photos/1.jpg": "x",
		"timeline.json": `{"observations":[{"row":1,"note":"dry"}]}`})
	must(t, os.Rename(filepath.Join(j, job.OutName), filepath.Join(j, job.BuyerName)))
	sheet := "[buyer]\n"
	for left := 7; left >= 0; left-- {
		overwrite(t, filepath.Join(j, "job.toml"), sheet)
		for _, a := range []job.Ask{{Path: j, For: job.ForBuyer}, {Path: filepath.Join(j, job.BuyerName)}} {
			f, err := Finish(context.Background(), a)
			must(t, err)
			all, err := f.Outgoing(context.Background(), a)
			must(t, err)
			list, _ := fault.In(Unsettled(all))
			if len(all) != 7 || len(list) != left {
				t.Fatalf("with\n%s%d of %d are open: %v", sheet, len(list), len(all), list)
			}
			if left > 0 && a.For == "" {
				_, line, _ := strings.Cut(list[0].Hint.String(), "write under [buyer]: ")
				line, _, _ = strings.Cut(line, ";")
				sheet += line + "\n"
			}
		}
	}
	must(t, os.Remove(filepath.Join(j, "rec.mp4"))) // the recording may be elsewhere by now
	f, err := Finish(context.Background(), job.Ask{Path: j, For: job.ForBuyer})
	must(t, err)
	if all, err := f.Outgoing(context.Background(), job.Ask{Path: j, For: job.ForBuyer}); err != nil || Unsettled(all) != nil {
		t.Errorf("%v, %v", err, Unsettled(all))
	}
}

func TestWhatWouldLeaveTheHouseIsSaidInEachLanguage(t *testing.T) {
	j := filepath.Join(t.TempDir(), "job")
	overwrite(t, filepath.Join(j, "rec.mp4"), "x")
	got, err := finishedOf(t, j, map[string]string{"as-filmed/a.mov": mp4With("soun", "+38.7223-009.1393/"), "spoken/1.m4a": "x", "photos/1.jpg": "x",
		"timeline.json": `{"observations":[{"row":1,"note":"Mrs Kemp"}]}`}).Outgoing(context.Background(), job.Ask{Path: j})
	must(t, err)
	if len(got) != 7 {
		t.Fatalf("%v", got)
	}
	for _, tag := range []string{"de", "es", "fr"} {
		l, err := words.For(tag)
		must(t, err)
		for _, o := range got {
			if l.Put(o.Text) == o.Text.String() || l.Put(o.Hint) == o.Hint.String() {
				t.Errorf("%s: %s is told in English", tag, o.Code)
			}
		}
	}
}

// Whoever finds a lost drive reads the folder's name.
func TestACopysFolderBearsTheFirmsNumber(t *testing.T) {
	const recording = `,"recording":{"parts":[{"sha256":"7f3a9c0011"}]}`
	const customer = `,"customer":{"name":"Rowan Ashdale","address":"9 Cinder Row"},"site":{"address":"4 Kiln Lane"}`
	for job, want := range map[string]string{
		`{"job":{"reference":"2291-B","line":{"name":"kitchen lateral"}` + customer + `}` + recording + `}`:                            "2291-b-kitchen-lateral",
		`{"job":{"reference":"2291-B","line":{"name":"Kiln Lane, kitchen"}` + customer + `}` + recording + `}`:                         "2291-b",
		`{"job":{"reference":"2291-B","line":{"name":"for Ashdale"}` + customer + `}` + recording + `}`:                                "2291-b",
		`{"job":{"reference":"Rowan Ashdale","date":"2026-03-02","line":{"name":"kitchen lateral"}` + customer + `}` + recording + `}`: "2026-03-02-7f3a9c",
		`{"job":{"reference":"  ","date":"2026-03-02","line":{"name":"kitchen lateral"}}` + recording + `}`:                            "2026-03-02-7f3a9c",
		`{"job":{"line":{"name":"kitchen lateral"}}` + recording + `}`:                                                                 "recording-7f3a9c",
		`{}`: "recording",
	} {
		dir := filepath.Join(t.TempDir(), "Ashdale 9 Cinder Row")
		f := finishedOf(t, dir, map[string]string{"timeline.json": job})
		if f.Name != want {
			t.Errorf("%s: %q, want %q", job, f.Name, want)
		}
		if !strings.Contains(job, "2291") && !strings.Contains(job, "Rowan") && !strings.Contains(job, "kitchen") && f.Kept != "ashdale-9-cinder-row" {
			t.Errorf("%s: archived as %q", job, f.Kept)
		}
	}
}
