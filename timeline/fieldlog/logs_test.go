package fieldlog

import (
	"bytes"
	"context"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"pushcue/timeline/distance"
	"pushcue/timeline/fault"
	"pushcue/timeline/timecode"
)

var push = timecode.Date{Year: 2026, Month: time.March, Day: 2}

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

// lisbon is the invented site's zone, with the push's date.
func lisbon(t testing.TB) Options {
	return Options{File: "log.csv", Date: push, Zone: zone(t, "Europe/Lisbon")}
}

func mustRead(t testing.TB, text string, o Options) *Log {
	t.Helper()
	log, err := Read(context.Background(), strings.NewReader(text), o)
	if err != nil {
		t.Fatalf("%v\nin\n%s", err, text)
	}
	return log
}

// stopped reads a log that can't be used, and returns why.
func stopped(t testing.TB, text string, o Options) fault.List {
	t.Helper()
	log, err := Read(context.Background(), strings.NewReader(text), o)
	l, ok := fault.In(err)
	if !ok {
		t.Fatalf("read as %+v, error %v; want faults\nin\n%s", log, err, text)
	}
	return l
}

// The push that all the files tell, written by hand.
var told = []struct {
	time     string
	from, to float64 // metres; NaN for none
	key      string
	clock    [2]float64
	urgency  Urgency
}{
	{"10:07:31", 12.4, math.NaN(), "roots", [2]float64{9, 3}, UrgencyRepair},
	{"10:12:05", 15.0, 18.2, "belly", [2]float64{}, UrgencyWatch},
	{"10:20:00", 21.7, math.NaN(), "offset-joint", [2]float64{6, 6}, UrgencyAtOnce},
	{"10:26:40", math.NaN(), math.NaN(), "line-end", [2]float64{}, UrgencyNone},
}

func TestEveryDialectTellsTheSamePush(t *testing.T) {
	tests := []struct {
		file      string
		charset   string
		separator rune
		note      string // the second row's, where letters beyond ASCII stand
		more      func(*Options)
	}{
		{file: "comma-en-utf8.csv", charset: "utf-8", separator: ',', note: "half full,\nsee \"photo\""},
		{file: "comma-en-utf8-bom-crlf.csv", charset: "utf-8", separator: ',', note: "half full,\r\nsee \"photo\""},
		{file: "semicolon-de-windows1252.csv", charset: "windows-1252", separator: ';', note: "halb gefüllt;\r\nsiehe „Foto“"},
		{file: "semicolon-fr-windows1252.csv", charset: "windows-1252", separator: ';', note: "à moitié pleine ;\r\nœil « ouvert »"},
		{file: "semicolon-de-iso8859-15.csv", charset: "iso-8859-15", separator: ';', note: "halb gefüllt;\nsiehe \"Foto\"",
			more: func(o *Options) { o.Charset = "ISO-8859-15" }},
		{file: "semicolon-fr-macintosh-cr.csv", charset: "macintosh", separator: ';', note: "à moitié pleine ;\rœil « ouvert »",
			more: func(o *Options) { o.Charset = "macintosh" }},
		{file: "tab-es-utf16le-bom.tsv", charset: "utf-16le", separator: '\t', note: "medio lleno;\r\nver «foto» ñ"},
		{file: "tab-en-utf16be-bom.txt", charset: "utf-16be", separator: '\t', note: "half full,\nsee \"photo\""},
		{file: "tab-de-utf16le.txt", charset: "utf-16le", separator: '\t', note: "halb gefüllt;\r\nsiehe „Foto“"},
		{file: "semicolon-es-utf16be.csv", charset: "utf-16be", separator: ';', note: "medio lleno;\nver «foto» ñ"},
		{file: "pipe-en-drawn.txt", charset: "utf-8", separator: '|', note: "half full, see \"photo\""},
		{file: "comma-en-feet-quotes.csv", charset: "utf-8", separator: ',', note: "half full,\nsee \"photo\""},
		{file: "comma-en-dates-dmy.csv", charset: "utf-8", separator: ',', note: "half full,\nsee \"photo\""},
		{file: "comma-en-us-dates-pm.csv", charset: "utf-8", separator: ',', note: "half full, see \"photo\"",
			more: func(o *Options) {
				o.Columns = map[string]string{"time": "When"}
				o.Kinds = mustReadKinds(t, "kinds-semicolon-en.csv")
			}},
		{file: "sheet-en.xlsx", charset: "xlsx", note: "half full,\nsee \"photo\""},
	}
	for _, tt := range tests {
		t.Run(tt.file, func(t *testing.T) {
			data, err := os.ReadFile(filepath.Join("../../testdata/logs", tt.file))
			if err != nil {
				t.Fatal(err)
			}
			o := lisbon(t)
			if tt.more != nil {
				tt.more(&o)
			}
			log, err := Read(context.Background(), bytes.NewReader(data), o)
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range append(log.Faults, log.Unlisted...) {
				t.Errorf("a fault in a clean log: %v", f)
			}
			if log.Dialect.Charset != tt.charset || log.Dialect.Separator != tt.separator {
				t.Errorf("read as %q with %q", log.Dialect.Charset, log.Dialect.Separator)
			}
			if len(log.Rows) != len(told) {
				t.Fatalf("%d rows", len(log.Rows))
			}
			if got := log.Rows[1].Note; got != tt.note {
				t.Errorf("note %q, want %q", got, tt.note)
			}
			for i, want := range told {
				row := log.Rows[i]
				at, _ := time.ParseInLocation("2006-01-02 15:04:05", "2026-03-02 "+want.time, o.Zone)
				if row.Time == nil || row.Time.Log != timecode.LogAt(at)+5e8 || row.Time.Half != 5e8 {
					t.Errorf("row %d: time %+v, want %s ± 0.5 s", i+1, row.Time, want.time)
				}
				if !near(row.Distance, want.from) || !near(row.To, want.to) {
					t.Errorf("row %d: %+v to %+v, want %v to %v", i+1, row.Distance, row.To, want.from, want.to)
				}
				if row.What.Key != want.key || row.What.Text == "" {
					t.Errorf("row %d: %+v, want %s", i+1, row.What, want.key)
				}
				var clock [2]float64
				if row.Clock != nil {
					clock = [2]float64{row.Clock.From, row.Clock.To}
				}
				if clock != want.clock {
					t.Errorf("row %d: clock %v, want %v", i+1, clock, want.clock)
				}
				if row.Urgency != want.urgency {
					t.Errorf("row %d: urgency %q, want %q", i+1, row.Urgency, want.urgency)
				}
				if row.Number != i+1 || len(row.Cells) != len(log.Header) {
					t.Errorf("row %d: number %d, %d cells under %d headers", i+1, row.Number, len(row.Cells), len(log.Header))
				}
			}
		})
	}
}

// near tells whether l is want metres, to the centimetre: the logs in feet say the
// same lengths rounded.
func near(l *distance.Length, want float64) bool {
	if l == nil || math.IsNaN(want) {
		return l == nil && math.IsNaN(want)
	}
	return math.Abs(float64(l.Metres)-want) < 0.02
}

func mustReadKinds(t testing.TB, file string) *Kinds {
	t.Helper()
	f, err := os.Open(filepath.Join("../../testdata/logs", file))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	k, err := ReadKinds(context.Background(), f, Options{File: file})
	if err != nil {
		t.Fatal(err)
	}
	return k
}
