package review_test

import (
	"bytes"
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

	"pushcue/internal/ffmpeg"
	"pushcue/internal/job"
	"pushcue/internal/review"
	"pushcue/internal/testbrowser"
	"pushcue/internal/testfootage"
)

// lying is a photo of 80 x 40 pixels that was taken with the camera held upright: its
// notes (Exif 2.3, tag 0x0112) say 6.
func lying(t testing.TB) string {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, image.NewGray(image.Rect(0, 0, 80, 40)), nil); err != nil {
		t.Fatal(err)
	}
	notes := "\xff\xe1\x00\x22Exif\x00\x00MM\x00*\x00\x00\x00\x08\x00\x01\x01\x12\x00\x03\x00\x00\x00\x01\x00\x06\x00\x00\x00\x00\x00\x00"
	return b.String()[:2] + notes + b.String()[2:]
}

// tone is a sound file (WAV, 16 bits, 8 kHz) of so many seconds.
func tone(seconds int) string {
	const rate = 8000
	le, samples := binary.LittleEndian, rate*seconds
	b := append([]byte("RIFF"), le.AppendUint32(nil, uint32(36+2*samples))...)
	b = append(b, "WAVEfmt "...)
	b = le.AppendUint32(b, 16)
	b = le.AppendUint16(le.AppendUint16(b, 1), 1) // plain numbers, one channel
	b = le.AppendUint32(le.AppendUint32(b, rate), 2*rate)
	b = le.AppendUint16(le.AppendUint16(b, 2), 16)
	b = le.AppendUint32(append(b, "data"...), uint32(2*samples))
	for i := range samples {
		b = le.AppendUint16(b, uint16(int16(4000*math.Sin(float64(i)/3))))
	}
	return string(b)
}

// witnessed is a job with spoken notes and photos: some known by their names, some not.
func witnessed(t testing.TB) string {
	folder := jobFolder(t, "en", written, first)
	for _, dir := range []string{"spoken", "photos"} {
		if err := os.Mkdir(filepath.Join(folder, dir), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	put(t, filepath.Join(folder, "spoken", "2 roots.wav"), tone(3))
	dictated := filepath.Join(folder, "spoken", "dictated") // of a kind that no browser plays
	put(t, dictated+".wav", tone(2))
	tools, err := review.FindTools(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	convert := []string{"-i", "file:" + dictated + ".wav", "file:" + dictated + ".wma"}
	if _, err := tools.Do(t.Context(), ffmpeg.Run{Args: convert, Sources: testfootage.Inputs(convert)}); err != nil {
		t.Fatal(err)
	}
	if err := os.Remove(dictated + ".wav"); err != nil {
		t.Fatal(err)
	}
	put(t, filepath.Join(folder, "spoken", "empty.mp3"), "")
	put(t, filepath.Join(folder, "photos", "row 2.jpg"), lying(t))
	put(t, filepath.Join(folder, "photos", "<img src=x> %2e%2e.jpg"), lying(t))
	put(t, filepath.Join(folder, "photos", "phone.heic"), "\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic")
	return folder
}

type file struct {
	File, Trouble string
	Rows          []int
	LeftOut       bool `json:"left_out"`
}

func (p *page) files() map[string]file {
	all := map[string]file{}
	for _, f := range p.state().Beside {
		all[f.File] = f
	}
	return all
}

// give chooses what a file belongs to, as a person does from its list.
func (p *page) give(file, to string) {
	p.saved(func() {
		p.Do(fmt.Sprintf(`const li = [...document.querySelectorAll(".beside li")].find(li => li.checkVisibility() && li.textContent.includes(%q)), s = li.querySelector("select");
			s.focus(); const o = [...s.options].slice(1).find(o => o.textContent.includes(%q)); s.value = o.value; s.dispatchEvent(new Event("change")); s.blur()`, file, to))
	})
}

func TestSpokenNotesAndPhotosStandWithTheirRows(t *testing.T) {
	p := open(t, kept(t, "witnessed", witnessed))
	p.Until(`document.querySelector('.item[data-key="r2"]').textContent.includes("spoken notes: 1 · photos: 1")`)
	rest := testbrowser.Ask[string](p.Browser, `[...document.querySelectorAll(".told .beside li bdi")].map(b => b.textContent.split(" · ")[0]).sort().join("|")`)
	if want := "photos/<img src=x> %2e%2e.jpg|photos/phone.heic|spoken/dictated.wma|spoken/empty.mp3"; rest != want {
		t.Errorf("to no observation belong %s, want %s", rest, want)
	}
	// What this ffmpeg can't read is said in words, at the photo.
	p.Do(`document.querySelector(".told .beside").scrollIntoView()`)
	p.Until(`[...document.querySelectorAll(".beside li")].some(li => li.textContent.includes("phone.heic") && li.textContent.includes("save it as JPEG"))`)
	if f := p.files()["spoken/empty.mp3"]; !strings.Contains(f.Trouble, "empty") {
		t.Errorf("an empty note says %q", f.Trouble)
	}
	// A name is a name.
	p.Until(`[...document.querySelectorAll(".beside img")].some(i => i.alt.includes("%2e%2e") && i.naturalHeight === 80 && i.naturalWidth === 40)`)
	// What no browser plays is played all the same.
	p.Do(`const a = [...document.querySelectorAll("audio")].find(a => a.src.includes("dictated")); a.muted = true; await a.play(); if (Math.abs(a.duration - 2) > 0.2) throw new Error(a.duration)`)
	if *keep != "" {
		put(t, filepath.Join(*keep, "beside-list.png"), string(p.Window()))
	}
	p.Accessible(axe)

	p.choose("r2")
	p.Do(`const a = document.querySelector(".detail audio"); a.muted = true; await a.play(); a.currentTime = 2; await new Promise(r => a.onseeked = r); if (a.currentTime < 2) throw new Error(a.currentTime)`)
	if got := testbrowser.Ask[string](p.Browser, `fetch("/media/spoken/spoken/2%20roots.wav", {headers: {Range: "bytes=0-3"}}).then(async r => r.status + " " + r.headers.get("Content-Type") + " " + await r.text())`); got != "206 audio/wav RIFF" {
		t.Errorf("a piece of a note comes as %q", got)
	}
	p.Until(`(() => { const i = document.querySelector(".detail .beside img"); i.scrollIntoView(); return i.naturalHeight === 80 && i.naturalWidth === 40; })()`)
	p.fits(t, "beside", 1024)
	p.Accessible(axe)
	if *keep != "" {
		put(t, filepath.Join(*keep, "beside-row.png"), string(p.Window()))
	}
}

func TestAFileIsGivenToARowAndTakenBack(t *testing.T) {
	p := open(t, kept(t, "witnessed", witnessed))
	p.Until(`document.querySelectorAll(".told .beside li").length === 4`)
	before := p.files()
	p.give("dictated.wma", "crack")
	if rows := p.files()["spoken/dictated.wma"].Rows; !slices.Equal(rows, []int{4}) {
		t.Fatalf("given to row 4 it belongs to %v", rows)
	}
	by := testbrowser.Ask[[]string](p.Browser, `fetch("/api/job").then(r => r.json()).then(j => j.timeline.observations.find(o => o.row === 4).by_person)`)
	if !slices.Contains(by, "spoken") {
		t.Errorf("the timeline says that a person gave %v", by)
	}
	p.give("phone.heic", "isn't handed over")
	p.choose("r2")
	p.give("row 2.jpg", "push as a whole")
	p.Until(`!document.querySelector(".detail .beside li img")`)
	now := p.files()
	if f := now["photos/phone.heic"]; !f.LeftOut {
		t.Errorf("left out it is %+v", f)
	}
	if f := now["photos/row 2.jpg"]; len(f.Rows) != 0 || f.LeftOut {
		t.Errorf("of the push as a whole it is %+v", f)
	}
	// Whoever looks again sees the same.
	p.Go(p.address)
	p.ready()
	p.Until(`document.querySelectorAll(".told .beside li").length === 4`)
	for range 3 {
		p.saved(func() { p.press("Undo") })
	}
	for name, f := range p.files() {
		if !slices.Equal(f.Rows, before[name].Rows) || f.LeftOut {
			t.Errorf("taken back, %s is %+v, was %+v", name, f, before[name])
		}
	}
}

// Only what the job lists as sound is served as sound, and nothing that a link leads to
// outside the job.
func TestNothingIsServedThatALinkLeadsTo(t *testing.T) {
	outside := t.TempDir()
	folder := kept(t, "witnessed", witnessed)
	put(t, filepath.Join(outside, "private.wav"), tone(1))
	put(t, filepath.Join(outside, "private.jpg"), lying(t))
	put(t, filepath.Join(folder, "spoken", "text.wav"), "this is a secret")
	t.Cleanup(func() { _ = os.Remove(filepath.Join(folder, "spoken", "text.wav")) })
	for link, to := range map[string]string{"spoken/link.wav": "private.wav", "photos/link.jpg": "private.jpg"} {
		link = filepath.Join(folder, link)
		if err := os.Symlink(filepath.Join(outside, to), link); err != nil {
			t.Skip(err)
		}
		t.Cleanup(func() { _ = os.Remove(link) })
	}
	s := begin(t, job.Ask{Path: folder}, t.TempDir())
	defer s.end()
	s.await(t, "all nine files", func(now state) bool { return len(now.Beside) == 9 })
	for address, want := range map[string]int{
		"/media/spoken/spoken/2%20roots.wav": 200, "/media/photo/photos/row%202.jpg": 200,
		"/media/spoken/spoken/link.wav": 404, "/media/photo/photos/link.jpg": 404, "/media/spoken/spoken/text.wav": 422,
		"/media/spoken/photos/row%202.jpg": 404, "/media/photo/spoken/2%20roots.wav": 404,
		"/media/photo/photos/%2e%2e/job.toml": 404, "/media/spoken/..%2f..%2fetc%2fpasswd": 404, "/media/spoken/part1.mp4": 404,
	} {
		if got, _ := s.get(t, address); got != want {
			t.Errorf("%s answers %d, want %d", address, got, want)
		}
	}
}
