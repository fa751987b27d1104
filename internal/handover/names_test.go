package handover

import (
	"strings"
	"testing"

	"pushcue/internal/job"
	"pushcue/timeline"
	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/wording"
	"pushcue/timeline/words"
)

func TestNamesOfPictures(t *testing.T) {
	metres := func(m distance.Metres) *distance.Metres { return &m }
	for _, c := range []struct {
		what string
		o    timeline.Observation
		unit distance.Unit
		tag  string
		want string
	}{
		{"kind and distance", timeline.Observation{Number: 3, Distance: metres(12.4), Entry: &fieldlog.Row{What: fieldlog.Kind{Key: "roots"}}}, "m", "en", "03_12.4m_roots"},
		{"feet", timeline.Observation{Number: 3, Distance: metres(12.4), Entry: &fieldlog.Row{What: fieldlog.Kind{Key: "roots"}}}, "ft", "en", "03_40.7ft_roots"},
		{"no distance", timeline.Observation{Number: 12, Entry: &fieldlog.Row{What: fieldlog.Kind{Key: "belly"}}}, "m", "en", "12_belly"},
		{"unknown kind as written", timeline.Observation{Number: 1, Entry: &fieldlog.Row{What: fieldlog.Kind{Text: "Rohr/Öffnung: „groß“"}}}, "m", "en", "01_rohr-offnung-gross"},
		{"no Latin letter", timeline.Observation{Number: 1, Distance: metres(0), Entry: &fieldlog.Row{What: fieldlog.Kind{Text: "корни"}}}, "m", "en", "01_0.0m"},
		{"hostile", timeline.Observation{Number: 1, Entry: &fieldlog.Row{What: fieldlog.Kind{Text: "../../etc/passwd\x00\n*?"}}}, "m", "en", "01_etc-passwd"},
		{"nothing", timeline.Observation{Number: 1}, "m", "en", "01"},
	} {
		lang, err := words.For(c.tag)
		if err != nil {
			t.Fatal(err)
		}
		if got := pictureName(&c.o, 2, wording.In(lang, &timeline.Timeline{Sheet: &jobsheet.Sheet{Job: jobsheet.Job{Units: c.unit}}})); got != c.want {
			t.Errorf("%s: got %q, want %q", c.what, got, c.want)
		}
	}
}

func TestNumbersAreAsWideAsTheLastNeeds(t *testing.T) {
	for n, want := range map[int]int{0: 2, 9: 2, 99: 2, 100: 3, 2000: 4} {
		if got := numberWidth(n); got != want {
			t.Errorf("%d: got %d, want %d", n, got, want)
		}
	}
}

// The characters and names refused are those of Microsoft's "Naming Files, Paths,
// and Namespaces".
func TestNamesOfRecordingsAreSafeEverywhere(t *testing.T) {
	for name, want := range map[string]string{
		"MOV001.AVI":        "MOV001.AVI",
		"Küche été 3.mp4":   "Küche été 3.mp4",
		`a<b>c:"d"|e?*.mp4`: "a_b_c__d__e__.mp4",
		"con.mp4":           "recording_con.mp4",
		"COM1.part.mp4":     "recording_COM1.part.mp4",
		" . .mp4":           "recording_.mp4",
		"line\nend.ts":      "line_end.ts",
		"\u202egpj.mp4":     "_gpj.mp4",
	} {
		if got := job.SourceName(name); got != want {
			t.Errorf("%q: got %q, want %q", name, got, want)
		}
	}
	if got := job.SourceName(strings.Repeat("ü", 300) + ".mp4"); len(got) > 200 {
		t.Errorf("a long name stays %d bytes long", len(got))
	}
}

func TestNamesThatDifferOnlyInCaseAreToldApart(t *testing.T) {
	got := job.Distinct([]string{"a.mp4", "A.mp4", "a_2.mp4", "a.mp4"})
	want := []string{"a.mp4", "A_2.mp4", "a_2_2.mp4", "a_3.mp4"}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("got %q, want %q", got, want)
			break
		}
	}
}

func FuzzNamesHoldOnlySafeCharacters(f *testing.F) {
	f.Add("roots")
	f.Add("../\x00\u202e*?é漢")
	f.Fuzz(func(t *testing.T, text string) {
		word := job.PlainWord(text, job.LongestWord)
		if strings.Trim(word, "abcdefghijklmnopqrstuvwxyz0123456789-") != "" || len(word) > job.LongestWord {
			t.Errorf("%q became %q", text, word)
		}
		name := job.SourceName(text)
		if strings.ContainsAny(name, "<>:\"/\\|?*\x00\n") || strings.HasSuffix(name, ".") || strings.HasSuffix(name, " ") || name == "" {
			t.Errorf("%q became %q", text, name)
		}
	})
}
