package review

import (
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// faulty are jobs with much to say about: LANGUAGE stands for their language.
var faulty = map[string]struct{ sheet, log, readings string }{
	"cells and readings": {
		sheet: "[job]\nlanguage = \"LANGUAGE\"\ndate = 2026-03-02\n[recording]\nstarts = \"10:00:00\"\nshow_to = \"9:00\"\n[counter]\nlook = \"off\"\n[distance]\nreadings = \"counter.csv\"\n",
		log: "time;distance;what;clock;urgency;photo\n10:00:01;x.y;roots;25;soon;\n10:00:02;12 ft 14 in;whatsit;12:15;;lost.jpg\n10:00:02;9.0 m;crack;;;\n25:99;3 cubits;whatsit;2.7;;\n" +
			";0.4 m;belly;;;\n;40 m;hole;;;\n;;grease;;;\n11:30:00;;hole;;;\n10:00:00;#REF!;crack;;;\n10:00:01;4 m 120 cm;crack;;;\n",
		readings: "video,distance\n0.0,0 m\n0.2,0.2 m\n0.4,0.4 m\n0.6,0.6 m\n0.8,0.8 m\n1.0,1.0 m\n1.2,99 m\n1.4,1.2 m\n1.6,1.2.3\n1.8,0 m\n2.0,0.2 m\n2.2,0.4 m\n2.4,0.6 m\n",
	},
	"anchors": {
		sheet: "[job]\nlanguage = \"LANGUAGE\"\ndate = 2026-03-02\n[counter]\nlook = \"off\"\n[[anchor]]\nrow = 1\nvideo = \"0:00.2\"\n[[anchor]]\nrow = 2\nvideo = \"0:01.0\"\n[[anchor]]\nrow = 3\nvideo = \"0:01.4\"\n[[anchor]]\nrow = 4\nvideo = \"0:02.0\"\n[[anchor]]\nrow = 5\nvideo = \"0:00.4\"\n",
		log:   "time;distance;what\n10:00:01.0;1;roots\n10:00:01.8;2;crack\n10:02:08.0;3;belly\n10:02:08.6;4;hole\n10:02:13.0;4;hole\n12:02:13.0;4;hole\n",
	},
	"questions": {
		sheet: "[job]\nlanguage = \"LANGUAGE\"\n[counter]\nlook = \"off\"\n",
		log:   "date;time;distance;what\n03/04/2026;10:00:03;1,250;roots\n03/05/2026;10:00:04;1,500;crack\n",
	},
}

// refusals are corrections that can't be, or not by all jobs.
var refusals = []string{
	`{"what":"set","row":1,"values":{"clock":"25"}}`,
	`{"what":"set","row":1,"values":{"distance":"x"}}`,
	`{"what":"set","row":1,"values":{"nonsense":"x"}}`,
	`{"what":"set","row":99,"values":{"what":"roots"}}`,
	`{"what":"seen","row":1,"frame":99999}`,
	`{"what":"taped","counter":"x","length":"2 m"}`,
	`{"what":"sheet","values":{"job.zone":"Nowhere"}}`,
	`{"what":"sheet","values":{"log.file":"../log.csv"}}`,
	`{"what":"belongs","file":"lost.jpg","row":1}`,
	`{"what":"nonsense"}`,
}

// keptEnglish are the fields that no page shows: what is noted goes by the first, and a
// page tells a correction by its parts.
var keptEnglish = []string{"/warnings/said", "/edits/text", "/undo/text", "/redo/text", "/timeline/distance/set_aside/state",
	"/timeline/observations/true_time_basis", "/timeline/recording/parts/true_time_basis"} // for programs

var word = regexp.MustCompile(`^[a-z']{2,}$`)

// pairs are all two words that stand side by side in a text.
func pairs(text string) (all []string) {
	before := ""
	for _, field := range strings.Fields(text) {
		now := strings.Trim(field, ".,;:()")
		if before != "" && word.MatchString(now) {
			all = append(all, before+" "+now)
		}
		if before = now; !word.MatchString(now) {
			before = ""
		}
	}
	return all
}

// No two English words stand side by side in what a page is sent in another language.
// That each language has each form is tested beside them; this finds what forms are
// filled with, and what never was one.
func TestNothingIsToldInEnglishToAnotherLanguage(t *testing.T) {
	names := slices.Sorted(maps.Keys(faulty))
	told := map[[2]string]map[string]string{}
	for _, language := range []string{"en", "de"} {
		visit := filepath.Join(t.TempDir(), "visit") // so that one program reads all of them
		for n, name := range names {
			faultyFolder(t, filepath.Join(visit, fmt.Sprint(n+1)), name, language)
		}
		write(t, filepath.Join(visit, "visit.toml"), "")
		b := serve(t, visit)
		for n, name := range names {
			told[[2]string{name, language}] = b.told(n)
		}
	}
	for _, name := range names {
		english := map[string]bool{}
		for _, text := range told[[2]string{name, "en"}] {
			for _, pair := range pairs(text) {
				english[pair] = true
			}
		}
		if len(english) < 30 {
			t.Fatalf("%s: hardly anything is told: %v", name, english)
		}
		for field, text := range told[[2]string{name, "de"}] {
			for _, pair := range pairs(text) {
				if english[pair] {
					t.Errorf("%s: %q of %s: %s", name, pair, field, text)
				}
			}
		}
	}
}

func faultyFolder(t *testing.T, dir, name, language string) {
	t.Helper()
	job := faulty[name]
	fill(t, dir, strings.ReplaceAll(job.sheet, "LANGUAGE", language), job.log)
	if job.readings != "" {
		write(t, filepath.Join(dir, "counter.csv"), job.readings)
	}
	if err := os.Mkdir(filepath.Join(dir, "spoken"), 0o755); err != nil {
		t.Fatal(err)
	}
	write(t, filepath.Join(dir, "spoken", "empty.mp3"), "")
}

// told is every text of the state of a visit's nth job, and of what is answered to
// corrections that are refused, by the field that it stands in.
func (b *browser) told(n int) map[string]string {
	b.t.Helper()
	b.untilIn(n, "what is wrong", func(s state) bool { return s.State == "asking" || s.State == "ready" && len(s.Beside) > 0 })
	told, which := map[string]string{}, fmt.Sprint("?job=", n)
	_, answer := b.get("/api/job" + which)
	gather(b.t, told, "", answer)
	for _, body := range refusals {
		_, answer := b.post("/api/edit"+which, body)
		gather(b.t, told, body, answer)
	}
	_, answer = b.post("/api/undo"+which, "{}")
	gather(b.t, told, "undo", answer)
	return told
}

// gather puts all texts of a JSON document into told, but those that stay English.
func gather(t testing.TB, told map[string]string, from string, document []byte) {
	t.Helper()
	var all any
	if err := json.Unmarshal(document, &all); err != nil {
		t.Fatalf("%s: %v", document, err)
	}
	var walk func(field, at string, value any)
	walk = func(field, at string, value any) {
		switch value := value.(type) {
		case map[string]any:
			for key, inner := range value {
				walk(field+"/"+key, at+"/"+key, inner)
			}
		case []any:
			for i, inner := range value {
				walk(field, fmt.Sprint(at, "/", i), inner)
			}
		case string:
			if !slices.Contains(keptEnglish, field) {
				told[from+at] = value
			}
		}
	}
	walk("", "", all)
}
