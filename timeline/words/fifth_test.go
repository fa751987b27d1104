package words_test

import (
	"bytes"
	"fmt"
	"io/fs"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/pelletier/go-toml/v2"

	"pushcue/internal/handover/account"
	"pushcue/internal/handover/page"
	"pushcue/internal/handover/report"
	"pushcue/internal/placing/attach"
	"pushcue/timeline"
	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// marked are the texts of the fifth language that its file doesn't have: what English says,
// between marks, so that text which no language file has is told from it.
func marked(text string) string { return "‹" + text + "›" }

// fifth is the language file of testdata with all texts filled in.
func fifth(t *testing.T) []byte {
	t.Helper()
	decoded := func(text []byte, err error) map[string]any {
		if err != nil {
			t.Fatal(err)
		}
		all := map[string]any{}
		if err := toml.Unmarshal(text, &all); err != nil {
			t.Fatal(err)
		}
		return all
	}
	english := decoded(fs.ReadFile(words.Files, "en.toml"))
	german := decoded(fs.ReadFile(words.Files, "de.toml")) // has each sentence's English form
	italian := decoded(os.ReadFile("testdata/it.toml"))
	for _, name := range []string{"labels", "cautions", "page", "means", "review", "sentences"} {
		own, _ := italian[name].(map[string]any)
		if own == nil {
			own = map[string]any{}
		}
		from := english[name].(map[string]any)
		if name == "sentences" {
			from = german[name].(map[string]any)
		}
		for key, text := range from {
			if name == "sentences" {
				text = key
			}
			if _, there := own[key]; !there {
				own[key] = marked(text.(string))
			}
		}
		italian[name] = own
	}
	text, err := toml.Marshal(italian)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

const italianLog = `Data;Ora;Distanza;Fino a;Rilievo;Posizione oraria;Urgenza;Annotazioni
2 di marzo 2026;alle 9:02 di mattina;0,5;;inizio;;;
2 marzo 2026;ore 9.03.05;1,20 m;;radici al giunto;dalle 10 a 2;da riparare;quasi chiuso
02.03.2026;09:04:10;da 2 a 3,5 metri;;avvallamento;in basso;tenere d'occhio;
02.03.2026;9h05;410 centimetri;;crepa;alle ore 3;non so;
02.03.2026;09:06 EC;quasi 5;;telecamera bloccata;;subito;
`

// With a fifth language's file, and nothing else, a log in that language is read, its push
// is placed, and page, report and review page speak it.
func TestALanguageIsAddedByItsFileAlone(t *testing.T) {
	with := fstest.MapFS{"it.toml": {Data: fifth(t)}}
	for _, tag := range words.Tags() {
		text, err := fs.ReadFile(words.Files, tag+".toml")
		if err != nil {
			t.Fatal(err)
		}
		with[tag+".toml"] = &fstest.MapFile{Data: text}
	}
	words.With(t, with)
	if tags := words.Tags(); !slices.Equal(tags, []string{"en", "de", "es", "fr", "it"}) {
		t.Fatalf("languages: %q", tags)
	}
	sheet, err := jobsheet.Read(jobsheet.Sources{Job: &jobsheet.Source{File: "job.toml", Data: []byte(
		"[job]\nlanguage = \"it-CH\"\ndate = 2026-03-02\nzone = \"Europe/Rome\"\n[recording]\nstarts = \"alle ore 9:01:30\"\n[log]\nlag = \"5 secondi\"\n[line]\nname = \"7\"\n")}})
	if err != nil {
		t.Fatal(err)
	}
	log, err := fieldlog.Read(t.Context(), strings.NewReader(italianLog), fieldlog.Options{File: "log.csv", Zone: sheet.Job.Zone})
	if err != nil {
		t.Fatal(err)
	}
	checkRows(t, log)

	rec := timeline.Recording{Parts: []timeline.Part{{File: "a.mp4", Duration: 6 * time.Minute, Rate: timecode.Rate{Num: 1, Den: 1}}}, End: timecode.VideoSeconds(360)}
	for s := range 360 {
		rec.Frames = append(rec.Frames, timecode.VideoSeconds(float64(s)))
	}
	line, err := timeline.Resolve(t.Context(), timeline.Input{Sheet: sheet, Log: log, Recording: rec})
	if err != nil {
		t.Fatal(err)
	}
	if len(line.Observations) != 5 {
		t.Errorf("%d rows have a place; %+v", len(line.Observations), line.Unplaced)
	}
	it, err := words.For("it-CH")
	if err != nil {
		t.Fatal(err)
	}

	a := account.Of(account.Input{Language: it, Pushes: []account.Push{{Timeline: line, Warnings: line.Warnings}}})
	var html, pdf bytes.Buffer
	if err := page.Write(&html, page.Input{Account: a}); err != nil {
		t.Fatal(err)
	}
	if err := report.Write(&pdf, report.Input{Account: a}); err != nil || !bytes.HasPrefix(pdf.Bytes(), []byte("%PDF")) {
		t.Errorf("report: %v", err)
	}
	for _, want := range []string{`lang="it"`, "Che cosa ha visto la telecamera", "radici", "Il tecnico ha annotato 4 difetti.", "Il tecnico consiglia: riparare", "1,2 m", "2 mar 2026"} {
		if !strings.Contains(html.String(), want) {
			t.Errorf("the page doesn't say %q", want)
		}
	}
	// What page and report set out is the account: no English is in it but between marks.
	said := regexp.MustCompile(`‹[^›]*›`).ReplaceAllString(fmt.Sprintf("%+v", *a), "")
	if found := englishIn(t, said); len(found) > 0 {
		t.Errorf("the account says in English: %q", found)
	}
	own := account.Of(account.Input{Language: words.English(), Pushes: []account.Push{{Timeline: line, Warnings: line.Warnings}}})
	if found := englishIn(t, fmt.Sprintf("%+v", *own)); len(found) < 10 {
		t.Errorf("in the English account only %q was found: this test looks in the wrong place", found)
	}

	if len(line.Warnings) == 0 {
		t.Fatal("nothing is warned of")
	}
	for _, w := range line.Warnings {
		if title := it.Review()[w.Code.Title()]; title == "" {
			t.Errorf("the review page has no title of %s", w.Code)
		}
		if text := it.Put(w.Text); text == w.Text.String() {
			t.Errorf("the review page says in English: %s", text)
		}
	}
	if it.Review()["warn-cell-unreadable"] != "Una cella del registro non si legge" {
		t.Error("the file's own title isn't shown")
	}
	if got := words.FindAddressed("chiesto alla Signora Tessa Brolo ieri"); got != "Signora Tessa Brolo" {
		t.Errorf("addressed: %q", got)
	}
	j := attach.Join([]attach.File{{Name: "spoken/riga 2.wav"}}, []attach.Row{{Number: 2}})
	if !slices.Equal(j.Of[2], []int{0}) {
		t.Errorf("riga 2.wav belongs to %v", j.Of)
	}
}

// checkRows looks at what was read of the log.
func checkRows(t *testing.T, log *fieldlog.Log) {
	t.Helper()
	if len(log.Rows) != 5 {
		t.Fatalf("%d rows: %+v", len(log.Rows), log.Faults)
	}
	rome, err := time.LoadLocation("Europe/Rome")
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, r := range log.Rows {
		one := r.What.Key + " " + string(r.Urgency)
		if r.Time != nil {
			one = r.Time.Log.Time(rome).Format("15:04:05") + " " + one
		}
		for _, l := range []*distance.Length{r.Distance, r.To} {
			if l != nil {
				one += fmt.Sprintf(" %.2f", float64(l.Metres))
			}
		}
		if r.Clock != nil {
			one += fmt.Sprintf(" %v-%v", r.Clock.From, r.Clock.To)
		}
		got = append(got, one)
	}
	want := []string{
		"09:02:30 line-start  0.50",
		"09:03:05 roots repair 1.20 10-2",
		"09:04:10 belly watch 2.00 3.50 6-6",
		"09:05:30 crack  4.10 3-3",
		"09:06:30 could-go-no-further at once",
	}
	for i := range want {
		if !strings.HasPrefix(got[i], strings.TrimSpace(want[i])) && got[i] != want[i] {
			t.Errorf("row %d: %q, want %q", i+1, got[i], want[i])
		}
	}
	if len(log.Faults) != 2 { // "non so", "quasi 5"
		t.Errorf("faults: %v", log.Faults)
	}
}

// englishIn lists the English texts of three words and more that stand in text.
func englishIn(t *testing.T, text string) (found []string) {
	t.Helper()
	source, err := fs.ReadFile(words.Files, "en.toml")
	if err != nil {
		t.Fatal(err)
	}
	var tables map[string]any
	if err := toml.Unmarshal(source, &tables); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"labels", "cautions", "page", "means"} {
		for _, one := range tables[name].(map[string]any) {
			for _, piece := range strings.Split(one.(string), "%") {
				piece = strings.TrimSpace(strings.TrimLeft(piece, "sd[]12."))
				if strings.Count(piece, " ") >= 2 && strings.Contains(text, piece) {
					found = append(found, piece)
				}
			}
		}
	}
	return found
}
