package handover

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"image"
	"image/jpeg"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/job"
	"pushcue/internal/placing"
	"pushcue/internal/reach"
	"pushcue/internal/shelf"
	"pushcue/internal/testfootage"
	"pushcue/timeline"
	"pushcue/timeline/codes"
	"pushcue/timeline/document"
	"pushcue/timeline/fault"
)

// saying is a sound file of one tone. A WAV is written here: it takes no ffmpeg.
func saying(t *testing.T, file string, hertz int, seconds float64) {
	t.Helper()
	if filepath.Ext(file) == ".wav" {
		overwrite(t, file, string(wave(hertz, seconds)))
		return
	}
	must(t, os.MkdirAll(filepath.Dir(file), 0o755))
	_, err := realTools(t).Do(context.Background(), ffmpeg.Run{Args: []string{
		"-f", "lavfi", "-i", fmt.Sprintf("sine=f=%d:r=16000:d=%f", hertz, seconds), "file:" + file}})
	must(t, err)
}

// wave is a tone in 16 bits, 16,000 samples a second, in Microsoft's RIFF form.
func wave(hertz int, seconds float64) []byte {
	const rate = 16000
	n := int(math.Round(seconds * rate))
	b := append(binary.LittleEndian.AppendUint32([]byte("RIFF"), uint32(36+2*n)), "WAVEfmt "...)
	for _, v := range []any{uint32(16), uint16(1), uint16(1), uint32(rate), uint32(2 * rate), uint16(2), uint16(16)} {
		b, _ = binary.Append(b, binary.LittleEndian, v)
	}
	b = binary.LittleEndian.AppendUint32(append(b, "data"...), uint32(2*n))
	for i := range n {
		b = binary.LittleEndian.AppendUint16(b, uint16(int16(4000*math.Sin(2*math.Pi*float64(hertz*i)/rate))))
	}
	return b
}

func photographed(t *testing.T, file string, wide, high int) {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, image.NewGray(image.Rect(0, 0, wide, high)), nil); err != nil {
		t.Fatal(err)
	}
	overwrite(t, file, b.String())
}

// hears reports whether a tone sounds at some time.
func hears(all []float64, at, hertz float64) bool {
	var re, im float64
	part := all[min(len(all), int((at-0.05)*8000)):min(len(all), int((at+0.05)*8000))]
	for i, v := range part {
		a := 2 * math.Pi * hertz * float64(i) / 8000
		re, im = re+v*math.Cos(a), im+v*math.Sin(a)
	}
	return 2*math.Hypot(re, im)/float64(max(len(part), 1)) > 0.03
}

// shownAt is when each picture of a film is shown, and when the film ends, in seconds.
func shownAt(t *testing.T, file string) (times []float64, end float64) {
	t.Helper()
	for _, p := range probeOf(t, file).packets {
		times = append(times, p.at.Seconds())
		end = max(end, (p.at + p.long).Seconds())
	}
	return times, end
}

const attachedLog = "video,distance,what,spoken,photo\n0:01.30,0.8 m,roots,memo b.wav,\n0:03.1,1.4 m,crack,,IMG_0007.JPG\n0:03.3,1.5 m,hole,gone.wav,\n,,belly,lost.wav,\n"

func attachedJob(t *testing.T) string {
	dir := jobOf(t, "[clips]\nlead = \"0.5s\"\ntail = \"0.5s\"\nspoken = true\n", attachedLog, plain(t))
	saying(t, filepath.Join(dir, "spoken", "Memo B.wav"), 700, 2.013)
	saying(t, filepath.Join(dir, "spoken", "2 crack.mp3"), 1100, 1.5)
	saying(t, filepath.Join(dir, "spoken", "lost.wav"), 500, 0.6)
	saying(t, filepath.Join(dir, "spoken", "to nobody {\\an8} #1 50% <b>.wav"), 500, 0.7)
	overwrite(t, filepath.Join(dir, "spoken", "3 broken.wav"), "#EXTM3U\nother.wav\n")
	photographed(t, filepath.Join(dir, "IMG_0007.JPG"), 120, 80)
	photographed(t, filepath.Join(dir, "IMG_0008.JPG"), 120, 80)
	photographed(t, filepath.Join(dir, "photos", "the house.jpg"), 80, 120)
	overwrite(t, filepath.Join(dir, "photos", "IMG_0009.HEIC"), "\x00\x00\x00\x18ftypheic\x00\x00\x00\x00heicmif1")
	return dir
}

func TestWhatWasSpokenAndPhotographedIsHandedOver(t *testing.T) {
	t.Parallel()
	dir := attachedJob(t)
	before := treeOf(t, dir)
	asked := Options{Skip: []string{"video", "report"}}
	r := makeJob(t, dir, asked)
	nobody := "spoken/to nobody {_an8} #1 50% _b_.m4a"
	has(t, r.Out, "spoken/01_0.8m_roots.m4a", "spoken/02_1.4m_crack.m4a", "spoken/lost.m4a", nobody,
		"clips/01_0.8m_roots_spoken.mp4", "clips/02_1.4m_crack_spoken.mp4", "photos/02_1.4m_crack.jpg", "photos/the house.jpg")
	hasnt(t, r.Out, "clips/03_1.5m_hole_spoken.mp4", "photos/IMG_0008.jpg")

	d := documentOf(t, r.Out)
	o := d.Observations
	if len(o[0].Spoken) != 1 || o[0].Spoken[0].File != "spoken/01_0.8m_roots.m4a" || *o[0].Spoken[0].Clip != "clips/01_0.8m_roots_spoken.mp4" || math.Abs(o[0].Spoken[0].Duration-2.013) > 0.001 {
		t.Errorf("observation 1: %+v", o[0].Spoken)
	}
	if len(o[1].Spoken) != 1 || !slices.Equal(o[1].Photos, []string{"photos/02_1.4m_crack.jpg"}) {
		t.Errorf("observation 2: %+v %v", o[1].Spoken, o[1].Photos)
	}
	if len(d.Unplaced) != 1 || len(d.Unplaced[0].Spoken) != 1 || d.Unplaced[0].Spoken[0].File != "spoken/lost.m4a" {
		t.Errorf("the row without a place: %+v", d.Unplaced)
	}
	if h := d.Handover; len(h.Spoken) != 1 || h.Spoken[0].File != nobody || !slices.Equal(h.Photos, []string{"photos/the house.jpg"}) {
		t.Errorf("the push as a whole: %+v %v", h.Spoken, h.Photos)
	}
	sums := content(t, filepath.Join(r.Out, shelf.SumsName))
	page := content(t, filepath.Join(r.Out, pageName))
	for _, name := range []string{"spoken/01_0.8m_roots.m4a", "clips/01_0.8m_roots_spoken.mp4", "photos/the house.jpg", nobody} {
		if !strings.Contains(sums, "  "+name+"\n") {
			t.Errorf("%s has no sum", name)
		}
	}
	if strings.Count(page, "<audio") != 4 || strings.Count(page, `class="photo"`) != 2 {
		t.Error("the page doesn't show all that was spoken and photographed")
	}
	var codes []string
	for _, w := range r.Warnings {
		codes = append(codes, fmt.Sprint(w.Code, " ", w.Row, " ", w.Open()))
	}
	for _, want := range []string{"spoken-unreadable 3 true", "spoken-missing 3 true", "photo-unreadable 0 true", "spoken-unjoined 0 false", "photo-unjoined 0 false"} {
		if !slices.Contains(codes, want) {
			t.Errorf("no warning %q among %q", want, codes)
		}
	}

	films := watch(t, 0, filepath.Join(r.Out, "clips", "01_0.8m_roots_spoken.mp4"), filepath.Join(r.Out, "clips", "02_1.4m_crack_spoken.mp4"), filepath.Join(r.Out, "clips", "findings.mp4"))
	narratedStillsLastAsLongAsTheirNotes(t, r.Out, d, films)
	excerptsStandStillForTheirNotes(t, r.Out, films[2].numbers)
	if again := makeJob(t, dir, asked); len(again.Made) != 0 || len(again.Warnings) != len(r.Warnings) {
		t.Errorf("made anew: %q; warnings %d, were %d", again.Made, len(again.Warnings), len(r.Warnings))
	}
	theSourcesAreAsTheyWere(t, dir, before)
	anArchiveKeepsWhatCameHome(t, dir)

	must(t, os.Remove(filepath.Join(dir, "spoken", "2 crack.mp3")))
	must(t, os.Remove(filepath.Join(dir, "photos", "the house.jpg")))
	// Wanted or not, what is outdated goes, and what isn't stays.
	r = makeJob(t, dir, Options{Only: []string{"page"}})
	hasnt(t, r.Out, "spoken/02_1.4m_crack.m4a", "clips/02_1.4m_crack_spoken.mp4", "photos/the house.jpg")
	has(t, r.Out, "spoken/01_0.8m_roots.m4a", "clips/01_0.8m_roots_spoken.mp4", pageName)
}

func narratedStillsLastAsLongAsTheirNotes(t *testing.T, out string, d *document.Document, films []film) {
	t.Helper()
	for i, hertz := range []float64{700, 1100} {
		s := d.Observations[i].Spoken[0]
		file := filepath.Join(out, filepath.FromSlash(*s.Clip))
		if _, end := shownAt(t, file); end < s.Duration || end > s.Duration+0.5 {
			t.Errorf("a note of %.3f s is shown for %.3f s", s.Duration, end)
		}
		if all := testfootage.Hear(t, file, 8000); float64(len(all))/8000 < s.Duration-0.001 || !hears(all, 0.1, hertz) || !hears(all, s.Duration-0.1, hertz) {
			t.Errorf("the note of observation %d isn't heard whole: %.3f s", i+1, float64(len(all))/8000)
		}
		frame := films[i].numbers
		if want := numberOf(t, filepath.Join(out, filepath.FromSlash(*d.Observations[i].Still))); frame[0] != want || frame[len(frame)-1] != want {
			t.Errorf("observation %d: the still shows frame %d, the narrated one %v", i+1, want, frame)
		}
	}
}

// The excerpts are frames 20 to 45, and 65 to 95: of two observations that overlap.
func excerptsStandStillForTheirNotes(t *testing.T, out string, found []int) {
	t.Helper()
	film := filepath.Join(out, "clips", "findings.mp4")
	times, end := shownAt(t, film)
	if len(found) != len(times) {
		t.Fatalf("%d pictures, %d times", len(found), len(times))
	}
	at := 0.0
	for i, n := range found {
		if math.Abs(times[i]-at) > 0.001 {
			t.Fatalf("frame %d is shown at %.3f s, not at %.3f s", n, times[i], at)
		}
		at += 0.04
		switch n {
		case 32: // 1.30 s, held for 2.013 s, which is rounded up to hundredths
			at += 2.02
		case 77: // 3.1 s
			at += 1.5 + 0.06 // an MP3 has its encoder's silence about it
			at = max(at, 0)
			if i+1 < len(times) {
				if got := times[i+1] - times[i] - 0.04; got < 1.5 || got > 1.6 {
					t.Errorf("a note of 1.5 s holds its picture for %.3f s", got)
				}
				at = times[i+1]
			}
		}
	}
	if math.Abs(end-at) > 0.001 {
		t.Errorf("the film ends at %.3f s, its pictures at %.3f s", end, at)
	}
	all := testfootage.Hear(t, film, 8000)
	if d := float64(len(all))/8000 - end; math.Abs(d) > 0.05 {
		t.Errorf("sound and pictures end %.3f s apart", d)
	}
	held := times[slices.Index(found, 32)]
	for _, after := range []float64{0.12, 1, 1.95} {
		if !hears(all, held+after, 700) {
			t.Errorf("the first note isn't heard %.2f s after its picture stands", after)
		}
	}
	if hears(all, held-0.1, 700) || hears(all, held+2.2, 700) {
		t.Error("the first note is heard outside its place")
	}
	if at := times[slices.Index(found, 77)]; !hears(all, at+0.2, 1100) || !hears(all, at+1.4, 1100) {
		t.Error("the second note isn't heard")
	}
}

// A narrated still is made of a still and a note that aren't wanted by themselves.
func TestHearingAndSeeingCanBeLeftOut(t *testing.T) {
	t.Parallel()
	dir := jobOf(t, "[clips]\nlead = \"0.5s\"\ntail = \"0.5s\"\nspoken = true\n", "video,distance,what\n0:01.30,0.8 m,roots\n", plain(t))
	saying(t, filepath.Join(dir, "spoken", "1.wav"), 700, 0.6)
	photographed(t, filepath.Join(dir, "photos", "the house.jpg"), 80, 120)
	r := makeJob(t, dir, Options{Only: []string{"clips"}})
	has(t, r.Out, "clips/01_0.8m_roots_spoken.mp4")
	hasnt(t, r.Out, "spoken", "photos", "stills", "video", pageName)
}

// What a phone and a camera wrote into the names is tied to the log's clock.
func TestFilesAreJoinedByTheirTime(t *testing.T) {
	t.Parallel()
	log := "time,distance,what\n10:02:30,1 m,roots\n10:12:00,1.2 m,crack\n"
	dir := jobOf(t, "[job]\ndate = 2026-03-02\nzone = \"Europe/Lisbon\"\n[recording]\nstarts = \"10:02:29\"\n", log, plain(t))
	saying(t, filepath.Join(dir, "spoken", "20260302_100240.wav"), 500, 0.5)
	photographed(t, filepath.Join(dir, "photos", "20260302_101150.jpg"), 40, 40)
	v, err := job.Open(context.Background(), job.Ask{Path: dir})
	must(t, err)
	p, err := placing.Place(context.Background(), realTools(t), v.Jobs[0], placing.PlaceOptions{})
	must(t, err)
	if len(p.Spoken) != 1 || !slices.Equal(p.Spoken[0].Rows, []int{1}) || len(p.Photos) != 1 || !slices.Equal(p.Photos[0].Rows, []int{2}) {
		t.Errorf("%+v %+v", p.Spoken, p.Photos)
	}
}

// treeOf is every file of a job with its size and its time.
func treeOf(t *testing.T, dir string) map[string]string {
	t.Helper()
	all := map[string]string{}
	must(t, filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		info, err := d.Info()
		all[path] = fmt.Sprint(info.Size(), info.ModTime().Format(time.RFC3339Nano))
		return err
	}))
	return all
}

func theSourcesAreAsTheyWere(t *testing.T, dir string, before map[string]string) {
	t.Helper()
	now := treeOf(t, dir)
	for path, was := range before {
		if now[path] != was {
			t.Errorf("%s was touched", path)
		}
	}
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func TestPhotosOfOtherKinds(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	webp := filepath.Join(dir, "x.webp")
	_, err := realTools(t).Do(context.Background(), ffmpeg.Run{Args: []string{"-f", "lavfi", "-i", "testsrc2=s=64x48", "-frames:v", "1", "-c:v", "libwebp", "file:" + webp}})
	must(t, err)
	for name, c := range map[string]struct{ data, says string }{
		"x.webp":        {content(t, webp), ""},
		"phone.heic":    {"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00heicmif1", "save it as JPEG"},
		"broken.jpg":    {"not a picture", "no photo that can be read"},
		"cut.jpg":       {"\xff\xd8\xff\xe0\x00\x10JFIF", "damaged"},
		"empty.jpg":     {"", "empty"},
		"list.webp":     {"#EXTM3U\nfile.jpg\n", "doesn't read photos of the kind WEBP"},
		"drawing.png":   {"<svg xmlns='http://www.w3.org/2000/svg'><image href='file:///etc/hosts'/></svg>", "no photo that can be read"},
		"recording.jpg": {content(t, plain(t))[:4096], "no photo that can be read"},
	} {
		file := filepath.Join(dir, name)
		overwrite(t, file, c.data)
		tools := realTools(t)
		j := &job.Job{Reach: &reach.Reach{Folders: []string{dir}}}
		p, err := OpenPhoto(context.Background(), j, tools, job.Source{Path: file, Name: "photos/" + name})
		list, _ := fault.In(err)
		switch {
		case c.says == "" && (err != nil || p == nil):
			t.Errorf("%s: %v", name, err)
		case c.says != "" && (len(list) != 1 || !strings.Contains(list[0].Text.String()+list[0].Hint.String(), c.says) || list[0].Hint.Empty()):
			t.Errorf("%s: %+v", name, list)
		}
	}
}

// What was spoken and photographed comes into an archive as it came home, and as it
// was handed over.
func anArchiveKeepsWhatCameHome(t *testing.T, dir string) {
	t.Helper()
	ctx := context.Background()
	v, err := job.Open(ctx, job.Ask{Path: dir})
	must(t, err)
	f, err := Finish(ctx, job.Ask{Path: dir})
	must(t, err)
	files, outside, _, err := Payload(ctx, v, f)
	must(t, err)
	var names []string
	for _, k := range files {
		names = append(names, k.Name)
	}
	for _, want := range []string{"spoken/Memo B.wav", "spoken/3 broken.wav", "photos/the house.jpg", "IMG_0007.JPG", "handover/spoken/01_0.8m_roots.m4a", "handover/photos/the house.jpg"} {
		if !slices.Contains(names, want) {
			t.Errorf("%s isn't kept: %q", want, names)
		}
	}
	if len(outside) != 0 {
		t.Errorf("said to lie outside: %q", outside)
	}
}

// What a person said of notes and photos holds for check and make, and the timeline
// tells that it was a person.
func TestNotesAndPhotosGoWhereAPersonPutThem(t *testing.T) {
	t.Parallel()
	dir := jobOf(t, "", attachedLog, plain(t))
	photographed(t, filepath.Join(dir, "photos", "the house.jpg"), 80, 120)
	photographed(t, filepath.Join(dir, "photos", "2.jpg"), 80, 120)
	photographed(t, filepath.Join(dir, "photos", "3.jpg"), 80, 120)
	line := func(id, more string) string {
		return `{"id":"` + id + `","time":"2026-03-02T18:00:00Z","author":"ana",` + more + "}\n"
	}
	overwrite(t, filepath.Join(dir, "edits.jsonl"),
		line("a", `"what":"belongs","file":"photos/the house.jpg","row":1`)+
			line("b", `"what":"belongs","file":"photos/2.jpg"`)+
			line("c", `"what":"omit","file":"photos/3.jpg"`)+
			line("d", `"what":"belongs","file":"photos/gone.jpg","row":2`))
	r := makeJob(t, dir, Options{Only: []string{"photos"}})
	d := documentOf(t, r.Out)
	if o := d.Observations[0]; len(o.Photos) != 1 || !slices.Contains(o.ByPerson, "photos") {
		t.Errorf("observation 1: %v, by a person %v", o.Photos, o.ByPerson)
	}
	if h := d.Handover; len(d.Observations[1].Photos) != 0 || !slices.Equal(h.Photos, []string{"photos/2.jpg"}) || h.LeftOut != 1 {
		t.Errorf("the push as a whole: %v, left out %d; observation 2: %v", h.Photos, h.LeftOut, d.Observations[1].Photos)
	}
	if !slices.ContainsFunc(r.Warnings, func(w timeline.Warning) bool {
		return w.Code == codes.EditUnfit && w.Open() && strings.Contains(w.Text.String(), "photos/gone.jpg")
	}) {
		t.Errorf("a photo that is gone isn't named: %v", r.Warnings)
	}
}
