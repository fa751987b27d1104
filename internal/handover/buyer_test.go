package handover

import (
	"context"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pushcue/internal/handover/embedded"
	"pushcue/internal/job"
	"pushcue/internal/placing"
	"pushcue/timeline/jobsheet"
)

// Everything in the folder is searched as another program reads it: bytes as they are,
// the report's text by poppler, what pictures and videos say of themselves by exiftool.
func TestTheBuyerLearnsNothingOfTheCustomer(t *testing.T) {
	t.Parallel()
	log := "video,distance,what,note,tenant,tel\n0:01.30,0.8 m,roots,at the joint,Rowan Ashdale,555-014-2233\n0:03.1,1.4 m,crack,,,\n,,hole,no place,rowan  ashdale,call 5550142233\n"
	dir := jobOf(t, "[customer]\nname = \"Rowan Ashdale\"\naddress = \"9 Cinder Row\"\nphone = \"555 014 2233\"\nemail = \"rowan@ashdale.example\"\n"+
		"[site]\naddress = \"4 Kiln Lane\"\naccess = \"key with Rowan Ashdale\"\n[photos]\nlocation = \"keep\"\n", log, plain(t))
	saying(t, filepath.Join(dir, "spoken", "1.wav"), 700, 0.6)
	house := filepath.Join(dir, "photos", "2.jpg")
	photographed(t, house, 64, 48)
	ask(t, "exiftool", "-overwrite_original", "-q", "-Artist=Rowan Ashdale", "-GPSLatitude=41.5", "-GPSLatitudeRef=N", "-GPSLongitude=2.1", "-GPSLongitudeRef=E", house)

	r := makeJob(t, dir, Options{For: job.ForBuyer})
	if filepath.Base(r.Out) != job.BuyerName {
		t.Errorf("it lies in %s", r.Out)
	}
	if _, err := os.Stat(filepath.Join(r.Out, "as-filmed")); err == nil {
		t.Error("the recording as filmed, with what the crew says, goes to the buyer")
	}
	for _, film := range []string{"video/recording.mp4", "clips/findings.mp4"} {
		data := content(t, filepath.Join(r.Out, filepath.FromSlash(film)))
		if facts, err := embedded.Read(strings.NewReader(data), int64(len(data))); err != nil || !facts.Indexed || facts.Sound {
			t.Errorf("%s: %v, %+v", film, err, facts)
		}
	}
	has(t, r.Out, "index.html", "report.pdf", "timeline.json", editListName, "log.csv", "spoken/01_0.8m_roots.m4a", "photos/02_1.4m_crack.jpg", "clips/findings.mp4")
	hidden := []string{"ashdale", "rowan", "cinder row", "555 014 2233", "555-014-2233", "5550142233", "gpslatitude", "key with"}
	files := 0
	var media []string
	hides := func(what, text string) {
		for _, word := range hidden {
			if strings.Contains(strings.ToLower(text), word) {
				t.Errorf("%s tells %q", what, word)
			}
		}
	}
	must(t, filepath.WalkDir(r.Out, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		files++
		hides(path, content(t, path))
		switch filepath.Ext(path) {
		case ".pdf":
			hides(path, ask(t, "pdftotext", path, "-"))
			media = append(media, path)
		case ".mp4", ".m4a", ".jpg":
			media = append(media, path)
		}
		return nil
	}))
	// One start of exiftool looks at all, and heads what it tells of each with its name.
	for _, told := range strings.Split("\n"+ask(t, "exiftool", append([]string{"-a", "-s", "-ee"}, media...)...), "\n======== ")[1:] {
		path, text, _ := strings.Cut(told, "\n")
		hides(path, text)
		media = slices.DeleteFunc(media, func(m string) bool { return m == path })
	}
	if files < 12 || len(media) > 0 {
		t.Errorf("only %d files were looked at; exiftool passed over %q", files, media)
	}
	if page := content(t, filepath.Join(r.Out, pageName)); !strings.Contains(page, "4 Kiln Lane") {
		t.Error("the page doesn't say which property it is")
	}
	for _, w := range r.Warnings {
		if w.Code == "customer-named" {
			t.Errorf("no remark names the customer: %s", w.Text)
		}
	}
	// The customer's own handover has all of it.
	if own := makeJob(t, dir, Options{Only: []string{"page", "log", "photos"}}); !strings.Contains(content(t, filepath.Join(own.Out, pageName)), "Rowan Ashdale") ||
		!strings.Contains(content(t, filepath.Join(own.Out, logName)), "555-014-2233") || !strings.Contains(ask(t, "exiftool", "-s", filepath.Join(own.Out, "photos", "02_1.4m_crack.jpg")), "GPSLatitude") {
		t.Error("the customer's own handover lacks something")
	}
}

// What the job sheet says of the buyer decides what is made, and only what changes something
// makes the handover out of date.
func TestWhatTheSheetSaysOfTheBuyer(t *testing.T) {
	t.Parallel()
	dir := jobOf(t, "", attachedLog, plain(t))
	saying(t, filepath.Join(dir, "spoken", "1.wav"), 700, 0.6)
	opened := func(buyer, reader string) (*job.Job, string) {
		overwrite(t, filepath.Join(dir, "job.toml"), noCounter+"[buyer]\n"+buyer)
		v, err := job.Open(context.Background(), job.Ask{Path: dir, For: reader})
		must(t, err)
		in, err := inputsOf(v.Jobs[0])
		must(t, err)
		return v.Jobs[0], in["sheet"]
	}
	_, undecided := opened("", job.ForBuyer)
	_, customers := opened("", "")
	for buyer, want := range map[string]struct {
		sound, asFilmed, spoken, photos, same bool
	}{
		"": {spoken: true, photos: true, same: true},
		"notes = \"keep\"\npicture = \"keep\"\nphotos = \"keep\"\nspoken = \"keep\"\nsound = \"drop\"\nas_filmed = \"drop\"\npositions = \"keep\"\n": {spoken: true, photos: true, same: true},
		"sound = \"keep\"\n":                       {sound: true, spoken: true, photos: true},
		"sound = \"keep\"\nas_filmed = \"keep\"\n": {sound: true, asFilmed: true, spoken: true, photos: true},
		"as_filmed = \"keep\"\n":                   {spoken: true, photos: true}, // it carries the sound
		"spoken = \"drop\"\n":                      {photos: true},
		"photos = \"drop\"\n":                      {spoken: true},
	} {
		j, sheet := opened(buyer, job.ForBuyer)
		m := &asFilmed{making: &making{job: j, opts: Options{For: job.ForBuyer}}}
		if j.Sheet.Recording.DropSound == want.sound || m.givesAsFilmed() != want.asFilmed || j.KeepsBack("spoken") == want.spoken || j.KeepsBack("photo") == want.photos {
			t.Errorf("%q: %+v, as filmed %v", buyer, j.Sheet.Buyer, m.givesAsFilmed())
		}
		if (sheet == undecided) != want.same {
			t.Errorf("%q: out of date: %v", buyer, sheet != undecided)
		}
		if j, sheet := opened(buyer, ""); sheet != customers || j.Sheet.Recording.DropSound || j.KeepsBack("spoken") || j.KeepsBack("photo") {
			t.Errorf("%q changes the customer's own handover", buyer)
		}
	}
	j, _ := opened("spoken = \"drop\"\n", job.ForBuyer)
	p, err := placing.Place(context.Background(), realTools(t), j, placing.PlaceOptions{})
	must(t, err)
	if len(p.Spoken) != 0 || len(p.LeftOut) != 1 {
		t.Errorf("%d spoken notes are handed over, %d left out", len(p.Spoken), len(p.LeftOut))
	}
}

func TestARemarkThatNamesTheCustomerIsPointedOut(t *testing.T) {
	t.Parallel()
	log := "video,distance,what,note\n0:01.30,0.8 m,roots,Mrs ASHDALE says it smells\n0:03.1,1.4 m,crack,ring 555/014-2233 first\n0:04,2 m,hole,a rowan grows above\n"
	dir := jobOf(t, "[customer]\nname = \"Rowan Ashdale\"\nphone = \"555 014 2233\"\n", log, plain(t))
	r := makeJob(t, dir, Options{For: job.ForBuyer, Only: []string{"log"}})
	var named []string
	for _, w := range r.Warnings {
		if w.Code == "customer-named" {
			named = append(named, map[bool]string{true: "open", false: "note"}[w.Open()]+": "+w.Text.String())
		}
	}
	if len(named) != 3 || !strings.HasPrefix(named[0], "note: row 1 ") || !strings.HasPrefix(named[1], "open: row 2 ") {
		t.Errorf("%q", named)
	}
	if strings.Contains(content(t, filepath.Join(r.Out, timelineName)), "customer-named") {
		t.Error("the warning itself is handed to the buyer")
	}
}

func TestContactDataIsKnownHoweverItIsWritten(t *testing.T) {
	u := job.Unsaid{Customer: jobsheet.Contact{Name: "José Ñáñez Lima", Phone: "+34 600 11 22 33", Email: "j@n.example", Address: "9 Cinder Row"}}
	for text, want := range map[string][2]string{
		"JOSE\u0301  Ñáñez lima": {"José Ñáñez Lima", ""}, "tel 0034600112233": {"+34 600 11 22 33", ""}, "tel +34-600-112233": {"+34 600 11 22 33", ""},
		"mail J@N.example now": {"j@n.example", ""}, "at 9 cinder row": {"9 Cinder Row", ""}, "lima beans": {"", "Lima"}, "limas": {"", ""}, "": {"", ""},
	} {
		if whole, part := u.In(text); !slices.Equal([]string{whole, part}, want[:]) {
			t.Errorf("%q: %q, %q", text, whole, part)
		}
	}
	if whole, part := (job.Unsaid{}).In("anything 555 014 2233"); whole+part != "" {
		t.Errorf("nobody is known as %q", whole+part)
	}
}

func ask(t *testing.T, name string, args ...string) string {
	t.Helper()
	out, err := exec.Command(name, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v\n%s", name, err, out)
	}
	return string(out)
}
