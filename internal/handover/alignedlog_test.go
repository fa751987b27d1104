package handover

import (
	"strings"
	"testing"
	"time"

	"pushcue/timeline"
	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

func TestTextThatWouldBeAFormulaGetsAnApostrophe(t *testing.T) {
	for cell, want := range map[string]string{
		"=1+1":         "'=1+1",
		"+49 30 1234":  "'+49 30 1234",
		"-":            "'-",
		"@SUM(A1)":     "'@SUM(A1)",
		"\tx":          "'\tx",
		"\rx":          "'\rx",
		"-1.5":         "-1.5",
		"-1,5":         "-1,5",
		"+12":          "+12",
		"-inf":         "'-inf",
		"+0x1p2":       "'+0x1p2",
		"roots = many": "roots = many",
		"":             "",
	} {
		if got := harmless(cell); got != want {
			t.Errorf("%q: got %q, want %q", cell, got, want)
		}
	}
}

func TestAlignedLogKeepsTheFirmsColumnsAndDialect(t *testing.T) {
	sheet := jobsheet.Default()
	sheet.Job.Zone = time.UTC
	rows := []fieldlog.Row{
		{Number: 1, Cells: []string{"10:07", "12,4", "Wurzeln; viele"}},
		{Number: 2, Cells: []string{"", "=cmd", "zwei\nZeilen"}},
	}
	at := time.Date(2026, 3, 2, 10, 7, 30, 0, time.UTC)
	metres := distance.Metres(12.44)
	tl := &timeline.Timeline{
		Sheet: sheet,
		Log:   &fieldlog.Log{Header: []string{"Uhrzeit", "Meter", "Befund"}, Rows: rows, Dialect: fieldlog.Dialect{Separator: ';', Decimal: ','}},
		Observations: []timeline.Observation{
			{Number: 1, Row: 1, Video: timecode.VideoSeconds(319.25), Uncertainty: 2500 * time.Millisecond, Distance: &metres, TrueTime: &at},
		},
	}
	lang, err := words.For("en")
	if err != nil {
		t.Fatal(err)
	}
	text, err := logText(tl, lang)
	if err != nil {
		t.Fatal(err)
	}
	want := "\ufeffUhrzeit;Meter;Befund;#;video time;true time;distance (m);± (s)\r\n" +
		"10:07;12,4;\"Wurzeln; viele\";1;5:19.3;2026-03-02T10:07:30.000+00:00;12,4;2,5\r\n" +
		";'=cmd;\"zwei\r\nZeilen\";;;;;\r\n"
	if string(text) != want {
		t.Errorf("got\n%s\nwant\n%s", text, want)
	}
	if !strings.HasPrefix(string(text), "\ufeff") {
		t.Error("no byte order mark")
	}
}
