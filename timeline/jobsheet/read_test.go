package jobsheet

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pushcue/timeline/distance"
	"pushcue/timeline/fault"
	"pushcue/timeline/timecode"
)

const whole = `
[job]
reference = "2291-B"
date  = 2026-03-02
zone  = "Europe/Lisbon"
units = "ft"
language = "de"
operator = "A. N. Operator"
reason   = "slow drain"
weather  = "dry"
cleaned  = "jetted"
ended    = "reached the main"

[firm]
name = "Invented Drains"
address = """1 Invented Street
Inventville"""
phone = 5550100
logo = 'pictures\logo.png'

[customer]
name = "C. Ustomer"

[site]
access = "side gate"

[line]
name = "kitchen lateral"
from = "rear clean-out"
to   = "mainline"
travel = "downstream"
size = "100 mm"
material = "clay"

[recording]
files  = ["part1.mp4", 'sub\part2.mp4']
starts = 10:02:11
ahead  = "-1h"
show_from = "1:10"
show_to   = 2460
sound  = "drop"

[log]
file  = "log.csv"
ahead = "1m35s"
lag   = "30s"
dates = "dmy"
decimal = ","
charset = "windows-1252"
kinds = "kinds.csv"
[log.columns]
distance = "Meterage"

[[anchor]]
row = 3
video = "5:14.2"

[[anchor]]
log = "01/02/2026 10:07:31"
video = "0:10"
part = "sub/part2.mp4"

[distance]
readings = "counter.csv"
fastest  = "5 ft/s"
zero = "2 ft"
[[distance.reset]]
video = "0:24.0"
place = "8.4 m"
[[distance.taped]]
counter = "10.2 m"
length  = "10.0 m"

[counter]
look = [10, 20, 100, 30]
unit = "ft"
confirmed = true

[stills]
window = "500 ms"

[clips]
lead = "1s"
tail = "0"
spoken = true

[photos]
location = "keep"

[captions]
strip = "below"
show  = "place+label"
`

func TestAFilesNameIsTakenAsItIsWritten(t *testing.T) {
	for written, want := range map[string]string{
		"\" log of today.csv\"": " log of today.csv", "'logs\\today.csv'": "logs/today.csv", "\"log.csv \"": "log.csv ",
	} {
		if s, err := readJob(t, "[log]\nfile = "+written); err != nil || s.Log.File != want {
			t.Errorf("%s: %q, %v", written, s.Log.File, err)
		}
	}
	for _, written := range []string{`""`, `" "`, `"a\tb"`, `7`} {
		if s, err := readJob(t, "[log]\nfile = "+written); err == nil {
			t.Errorf("%s: %q", written, s.Log.File)
		}
	}
}

func TestEveryKeyIsRead(t *testing.T) {
	s, err := readJob(t, whole)
	if err != nil {
		t.Fatal(err)
	}
	minus, ahead := -time.Hour, 95*time.Second
	for what, same := range map[string]bool{
		"file":          s.File == "job.toml",
		"reference":     s.Job.Reference == "2291-B",
		"date":          s.Job.Date == Date{Year: 2026, Month: 3, Day: 2},
		"zone":          s.Job.Zone.String() == "Europe/Lisbon" && s.Job.ZoneGiven,
		"units":         s.Job.Units == distance.Foot,
		"language":      s.Job.Language == "de",
		"people":        s.Job.Operator == "A. N. Operator" && s.Customer.Name == "C. Ustomer" && s.Site.Access == "side gate",
		"firm":          s.Firm.Name == "Invented Drains" && s.Firm.Address == "1 Invented Street\nInventville" && s.Firm.Phone == "5550100",
		"logo":          s.Firm.Logo == "pictures/logo.png" && s.Firm.LogoDir == "job",
		"line":          s.Line == Line{"kitchen lateral", "rear clean-out", "mainline", "downstream", "100 mm", "clay"},
		"files":         strings.Join(s.Recording.Files, "|") == "part1.mp4|sub/part2.mp4",
		"starts":        s.Recording.Starts.Written.Since == 10*time.Hour+2*time.Minute+11*time.Second,
		"clock ahead":   *s.Recording.Ahead == minus,
		"shown":         *s.Recording.ShowFrom == timecode.VideoSeconds(70) && *s.Recording.ShowTo == timecode.VideoSeconds(2460),
		"sound":         s.Recording.DropSound,
		"log":           s.Log.File == "log.csv" && *s.Log.Ahead == ahead && s.Log.Lag == 30*time.Second && s.Log.Decimal == ',',
		"log's habits":  s.Log.Dates == "dmy" && s.Log.Charset == "windows-1252" && s.Log.Kinds == "kinds.csv" && s.Log.Columns["distance"] == "Meterage",
		"anchors":       len(s.Anchors) == 2,
		"row anchor":    s.Anchors[0].Row == 3 && s.Anchors[0].Video == timecode.VideoSeconds(314.2) && s.Anchors[0].Half == 50*time.Millisecond,
		"log anchor":    s.Anchors[1].Log.Written.Month == time.February && s.Anchors[1].Part == "sub/part2.mp4",
		"anchor's line": s.Anchors[0].Line == 54,
		"readings":      s.Distance.Readings == "counter.csv",
		"fastest":       fmt.Sprintf("%.4f", s.Distance.Fastest) == "1.5240",
		"zero":          fmt.Sprintf("%.4f", s.Distance.Zero) == "0.6096",
		"reset":         len(s.Distance.Resets) == 1 && s.Distance.Resets[0].Place == 8.4 && s.Distance.Resets[0].At == timecode.VideoSeconds(24),
		"taped":         len(s.Distance.Taped) == 1 && fmt.Sprintf("%.1f", s.Distance.Taped[0].Counter) == "10.2",
		"counter":       s.Counter == Counter{"box", [4]int{10, 20, 100, 30}, distance.Foot, true},
		"stills":        s.Stills.Window == 500*time.Millisecond,
		"clips":         s.Clips == Clips{time.Second, 0, true},
		"photos":        s.Photos.KeepLocation,
		"captions":      s.Captions == Captions{"below", "place+label", "fast"},
	} {
		if !same {
			t.Errorf("%s: %+v", what, s)
		}
	}
}

func TestNoSheetIsTheDefaults(t *testing.T) {
	s, err := Read(Sources{})
	if err != nil {
		t.Fatal(err)
	}
	if s.Job.Units != "m" || s.Job.Language != "en" || s.Job.ZoneGiven || s.Distance.Fastest != 1.5 ||
		s.Stills.Window != time.Second || s.Clips.Lead != 2*time.Second || s.Clips.Tail != 4*time.Second ||
		s.Captions.Strip != "above" || s.Captions.Show != "place" || s.Counter.Look != "auto" || s.Recording.DropSound {
		t.Errorf("%+v", s)
	}
}

// Each sheet has one fault; the line, the key and the words tell where and what.
func TestFaults(t *testing.T) {
	for sheet, want := range map[string]string{
		"[job]\nrefrence = 'x'":                         `line 2, column "job.refrence", value "x": there is no key "refrence" in [job] / did you mean reference?`,
		"[jbo]\nreference = 'x'":                        `line 1, column "jbo": there is no table [jbo] / did you mean job?`,
		"reference = 'x'":                               `line 1, column "reference", value "x": there is no key "reference" / reference stands in [job]`,
		"[line]\nzone = 'UTC'":                          `line 2, column "line.zone", value "UTC": there is no key "zone" in [line] / zone stands in [job]`,
		"job = 'x'":                                     `line 1, column "job", value "x": [job] is a table, and here it is text / write [job] on a line of its own`,
		"[job]\nunits = 'metres'":                       `one of these is possible here: "m", "ft"`,
		"[captions]\nstrip = 'abve'":                    `"above", "below", "over", "none" / did you mean "above"?`,
		"[job]\nlanguage = 'tlh'":                       `one of these is possible here: en, de, es, fr`,
		"[job]\nzone = 'Lisbon'":                        `no zone of that name`,
		"[job]\nzone = 'Local'":                         `a zone is wanted here by its name`,
		"[job]\ndate = '01/02/2026'":                    `can be 2026-02-01 or 2026-01-02`,
		"[job]\ndate = 20260302":                        `not a date`,
		"[job]\ndate = 2026-02-30":                      `line 2`,
		"[job]\nreference = true":                       `text is wanted here, in quotes`,
		"[log]\nlag = 30":                               `a number without a unit: write "30 s"`,
		"[log]\nlag = '30'":                             `a number without a unit: write 30 s or 30 min`,
		"[log]\nlag = '-30s'":                           `from 0s to 1h is possible here`,
		"[log]\nlag = '3h'":                             `from 0s to 1h is possible here`,
		"[log]\ndecimal = ';'":                          `one of these is possible here: ",", "."`,
		"[log.columns]\ndist = 'Meterage'":              `there is no key "dist" in [log.columns]`,
		"[log.columns]\ndistance = 3.5":                 `the log's header word is wanted here`,
		"[log]\ncolumns = 'x'":                          `a table is wanted here`,
		"[distance]\nzero = 0.6":                        `a length with its unit is wanted here`,
		"[distance]\nzero = '0.6'":                      `a length without a unit: write 0.6 m or 0.6 ft`,
		"[distance]\nzero = '0.6 parsecs'":              `line 2`,
		"[distance]\nzero = '1,234 m'":                  `can be`,
		"[distance]\nfastest = 1.5":                     `a speed with its unit is wanted here`,
		"[distance]\nfastest = '0 m/s'":                 `this isn't a speed`,
		"[[distance.taped]]\ncounter = '10 m'":          `a taped length needs both counter and length`,
		"[[distance.reset]]\nplace = '8.4 m'":           `a reset needs both video and place`,
		"[recording]\nfiles = []":                       `a list of files is wanted here`,
		"[recording]\nfiles = ['a.mp4', 'a.mp4']":       `the same part stands in the list twice`,
		"[recording]\nfiles = [3]":                      `text is wanted here`,
		"[recording]\nfiles = [\"C:\\\\new\\n.mp4\"]":   `control character`,
		"[recording]\nfiles = [\"video\\part1.mp4\"]":   `line 2, value "files = [\"video\\part1.mp4\"]": invalid`,
		"[recording]\nshow_from = '5:75'":               `seconds go from 00 to 59`,
		"[recording]\nshow_from = '00:00:05:12'":        `depends on the recording's frame rate`,
		"[recording]\nshow_from = '2:00'\nshow_to='60'": `line 3, column "recording.show_to", value "1:00.0": show_to must come after show_from (2:00.0)`,
		"[recording]\nstarts = '25:61'":                 `minutes go from 00 to 59`,
		"[recording]\nstarts = '01/02/2026 10:07'":      `can be 2026-02-01 10:07:00 or 2026-01-02 10:07:00`,
		"[recording]\nsound = true":                     `"keep", "drop"`,
		"[[anchor]]\nvideo = '5:14'":                    `line 1, column "anchor.0": an anchor needs row or log`,
		"[[anchor]]\nrow = 3\nlog='10:07'\nvideo = 1":   `an anchor takes row or log, not both`,
		"[[anchor]]\nrow = 3":                           `an anchor needs video`,
		"[[anchor]]\nrow = 0\nvideo = 1":                `the number of a row of the log is wanted here, counted from 1`,
		"[[anchor]]\nrow = 1\nvideo = 1\nvideos = 2":    `line 4, column "anchor.0.videos", value "2": there is no key "videos" in [anchor] / did you mean video?`,
		"[anchor]\nrow = 1.5\nvideo = 1":                `the number of a row of the log is wanted here`,
		"anchor = 5":                                    `write [[anchor]] on a line of its own`,
		"[recording]\nfiles=['a.mp4']\n[[anchor]]\nrow=1\nvideo=1\npart='b.mp4'": `line 6, column "anchor.0.part", value "b.mp4": this part isn't among the recording's files`,
		"[counter]\nlook = [1, 2, 3]":                                            `four whole numbers are wanted here`,
		"[counter]\nlook = [1, 2, 0, 4]":                                         `four whole numbers are wanted here`,
		"[counter]\nlook = 'on'":                                                 `"auto", "off"`,
		"[counter]\nconfirmed = 'yes'":                                           `true or false is wanted here, without quotes`,
		"[job]\nreference = x":                                                   `line 2, value "reference = x"`,
		"[job]\nreference = 'a'\nreference=''":                                   `line 3`,
		"\"job.zone\" = 'UTC'":                                                   `there is no key "job.zone"`,
		"[job]\nreference = 'caf\xe9'":                                           `line 2: a letter is not in UTF-8 / save the sheet as UTF-8`,
		"\xff\xfea":                                                              ``,
		strings.Repeat("#", MaxBytes+1):                                          `far too large for a sheet`,
		"a = " + strings.Repeat("[", 100_000):                                    `line 1`,
		strings.Repeat("a.", 60_000) + "a = 1":                                   `there is no`,
	} {
		s, err := readJob(t, sheet)
		if err == nil {
			t.Errorf("%.80q: read as %+v", sheet, s)
			continue
		}
		faults, ok := fault.In(err)
		if !ok || len(faults) != 1 {
			t.Errorf("%.80q: %v", sheet, err)
			continue
		}
		f := faults[0]
		if got := f.Error() + " / " + f.Hint.String(); !strings.Contains(got, want) || f.File != "job.toml" {
			t.Errorf("%.80q:\n%.300s\nwant %s", sheet, got, want)
		}
	}
}

func TestAllFaultsComeAtOnceInOrder(t *testing.T) {
	_, err := readJob(t, "[job]\nunits = 'yd'\nzone = 'Nowhere'\n[log]\nlag = 3\nfoo = 1\n[[anchor]]\nrow = 'x'\nvideo = ''\n")
	faults, _ := fault.In(err)
	var lines []int
	for _, f := range faults {
		lines = append(lines, f.Line)
	}
	if fmt.Sprint(lines) != "[2 3 5 6 8 9]" {
		t.Errorf("faults at lines %v:\n%v", lines, err)
	}
}

func TestSheetsAsEditorsSaveThem(t *testing.T) {
	text := "[job]\nreference = \"é 1\"\nzone = \"Europe/Lisbon\"\n"
	utf16 := []byte{0xff, 0xfe}
	big := []byte{0xfe, 0xff}
	for _, r := range text {
		utf16 = append(utf16, byte(r), byte(r>>8))
		big = append(big, byte(r>>8), byte(r))
	}
	for name, data := range map[string]string{
		"byte order mark": "\xef\xbb\xbf" + text,
		"CR LF":           strings.ReplaceAll(text, "\n", "\r\n"),
		"UTF-16 LE":       string(utf16),
		"UTF-16 BE":       string(big),
		"no last newline": strings.TrimSpace(text),
	} {
		s, err := readJob(t, data)
		if err != nil || s.Job.Reference != "é 1" || !s.Job.ZoneGiven {
			t.Errorf("%s: %v", name, err)
		}
	}
	_, err := readJob(t, "\xef\xbb\xbf[job]\r\n\r\nzone = 'x'\r\n")
	if faults, _ := fault.In(err); len(faults) != 1 || faults[0].Line != 3 {
		t.Errorf("line behind a mark and CR LF: %v", err)
	}
}

func TestInlineTablesAreTables(t *testing.T) {
	s, err := readJob(t, "firm = { name = 'Invented Drains' }\nanchor = [{ row = 1, video = '5:14' }, { row = 2, video = '6:14' }]\n")
	if err != nil || s.Firm.Name != "Invented Drains" || len(s.Anchors) != 2 || s.Anchors[1].Row != 2 {
		t.Errorf("%+v %v", s, err)
	}
	_, err = readJob(t, "\nanchor = [{ row = 1, video = 'x' }]\n")
	if faults, _ := fault.In(err); len(faults) != 1 || faults[0].Line != 2 {
		t.Errorf("%v", err)
	}
}

func TestNearest(t *testing.T) {
	known := []string{"reference", "date", "zone", "units"}
	for written, want := range map[string]string{"refernce": "reference", "zoen": "zone", "Unit": "units", "xyz": "", "": "", strings.Repeat("a", 10_000): ""} {
		if got := nearest(written, known); got != want {
			t.Errorf("%.20q: %q, want %q", written, got, want)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(whole))
	f.Add(Template(Start{}))
	f.Add([]byte("[[anchor]]\nrow = 3\n[[anchor]]\nlog = 10:07:31\nvideo = 5.5\n"))
	f.Add([]byte("\xff\xfe[\x00j\x00"))
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := Read(Sources{Job: &Source{File: "job.toml", Data: data}})
		if (s == nil) == (err == nil) {
			t.Fatalf("%v with error %v", s, err)
		}
		if err == nil {
			return
		}
		faults, ok := fault.In(err)
		if !ok || len(faults) == 0 {
			t.Fatalf("%v is no fault", err)
		}
		for _, f := range faults {
			if f.Text.Empty() || f.File == "" || f.Line < 0 || f.Line > strings.Count(string(data), "\n")+1 {
				t.Fatalf("%+v", f)
			}
		}
	})
}

func TestMissingQuotesAreNamed(t *testing.T) {
	for line, want := range map[string]string{
		"date = 02.03.2026":         `date = "02.03.2026"`,
		"reference = Müller, north": `reference = "Müller, north"`,
		"zone = Europe/Berlin # x":  `zone = "Europe/Berlin"`,
	} {
		_, err := readJob(t, "[job]\n"+line)
		list, ok := fault.In(err)
		if !ok || len(list) != 1 || list[0].Line != 2 || !strings.Contains(list[0].Hint.String(), want) || !strings.Contains(list[0].Text.String(), "quotes") {
			t.Errorf("%s: %v", line, err)
		}
	}
	for _, line := range []string{`date = "02.03.2026`, "date 2026-03-02", `= "x"`} {
		if _, err := readJob(t, "[job]\n"+line); err == nil || strings.Contains(err.Error(), "quotes are missing round") {
			t.Errorf("%s: %v", line, err)
		}
	}
}
