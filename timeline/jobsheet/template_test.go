package jobsheet

import (
	"regexp"
	"strings"
	"testing"
)

func readJob(t *testing.T, text string) (*Sheet, error) {
	t.Helper()
	return Read(Sources{Job: &Source{File: "job.toml", Dir: "job", Data: []byte(text)}})
}

func TestTemplateReadsAsItIs(t *testing.T) {
	s, err := readJob(t, string(Template(Start{})))
	if err != nil {
		t.Fatal(err)
	}
	if s.Job.Reference != "" || !s.Job.Date.IsZero() {
		t.Errorf("the empty template says something: %+v", s.Job)
	}
}

// Every key that a sheet may hold stands in the template, and each example is right.
func TestTemplateShowsEveryKey(t *testing.T) {
	commented := regexp.MustCompile(`(?m)^# (\[\[|[a-z_]+ = )`)
	text := commented.ReplaceAllString(string(Template(Start{})), "$1")
	s, err := readJob(t, text)
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Anchors) != 1 || len(s.Distance.Taped) != 1 || s.Log.Columns["distance"] != "Meterage" {
		t.Errorf("examples went missing: %+v", s)
	}
	for _, f := range sheetFields() {
		if _, name, deeper := strings.Cut(f.path, "."); deeper && !regexp.MustCompile(`(?m)^`+name+` = |^\[\[?`+f.path).MatchString(text) {
			t.Errorf("%s isn't in the template", f.path)
		}
	}
}

func TestTemplateIsFilledWithWhatIsKnown(t *testing.T) {
	line := "north \"A\"\\\n\x01 ⚠"
	s, err := readJob(t, string(Template(Start{Date: Date{Year: 2026, Month: 11, Day: 25}, Zone: "America/Chicago", Line: line})))
	if err != nil {
		t.Fatal(err)
	}
	if s.Job.Date.String() != "2026-11-25" || s.Job.Zone.String() != "America/Chicago" || s.Line.Name != line {
		t.Errorf("%v, %v, %q", s.Job.Date, s.Job.Zone, s.Line.Name)
	}
}
