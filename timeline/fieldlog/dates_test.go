package fieldlog

import (
	"slices"
	"strings"
	"testing"
	"time"

	"pushcue/timeline/timecode"
)

// instants are the log's times, less the half resolution that each is moved by.
func instants(log *Log, zone *time.Location) (ts []string) {
	for _, r := range log.Rows {
		if r.Time == nil {
			ts = append(ts, "")
			continue
		}
		ts = append(ts, r.Time.Log.Add(-r.Time.Half).Time(zone).Format("2006-01-02 15:04:05 -07:00"))
	}
	return ts
}

// Summer time in Lisbon starts on 29 March 2026 at 01:00 UTC and ends on 25 October
// 2026 at 01:00 UTC (IANA time zone database, Portugal's rules).
func TestTimesFindTheirDate(t *testing.T) {
	lisbon := zone(t, "Europe/Lisbon")
	tests := []struct {
		name  string
		text  string
		date  timecode.Date
		dates timecode.DateOrder
		want  []string
	}{
		{name: "the job's date", date: push, text: "time\n10:07\n10:08:30",
			want: []string{"2026-03-02 10:07:00 +00:00", "2026-03-02 10:08:30 +00:00"}},
		{name: "past midnight", date: push, text: "time\n23:50\n23:58\n0:04\n00:30",
			want: []string{"2026-03-02 23:50:00 +00:00", "2026-03-02 23:58:00 +00:00", "2026-03-03 00:04:00 +00:00", "2026-03-03 00:30:00 +00:00"}},
		{name: "past midnight, one row late", date: push, text: "time\n23:50\n0:04\n23:58\n00:30",
			want: []string{"2026-03-02 23:50:00 +00:00", "2026-03-03 00:04:00 +00:00", "2026-03-02 23:58:00 +00:00", "2026-03-03 00:30:00 +00:00"}},
		{name: "a long day isn't midnight", date: push, text: "time\n06:00\n21:30",
			want: []string{"2026-03-02 06:00:00 +00:00", "2026-03-02 21:30:00 +00:00"}},
		{name: "a row out of order isn't midnight", date: push, text: "time\n10:20\n10:07\n10:30",
			want: []string{"2026-03-02 10:20:00 +00:00", "2026-03-02 10:07:00 +00:00", "2026-03-02 10:30:00 +00:00"}},
		{name: "a date in one row holds for the others", text: "time\n23:55\n2026-03-03 00:05\n00:10",
			want: []string{"2026-03-02 23:55:00 +00:00", "2026-03-03 00:05:00 +00:00", "2026-03-03 00:10:00 +00:00"}},
		{name: "a log's own date stands, whatever the job's", date: push, text: "time\n2019-01-01 00:05",
			want: []string{"2019-01-01 00:05:00 +00:00"}},
		{name: "date column, date given once", text: "date,time\n2026-03-02,10:07\n,10:08",
			want: []string{"2026-03-02 10:07:00 +00:00", "2026-03-02 10:08:00 +00:00"}},
		{name: "dates as a spreadsheet exports them", text: "date,time\n2026-03-02 00:00:00,10:07\n",
			want: []string{"2026-03-02 10:07:00 +00:00"}},
		{name: "both in the column of dates", text: "date,distance\n2026-03-02 10:07,12.4\n",
			want: []string{"2026-03-02 10:07:00 +00:00"}},
		{name: "a zone in the cell", date: push, text: "time\n10:07+02:00\n10:07 CET\n2026-03-02T11:07:31.5Z",
			want: []string{"2026-03-02 08:07:00 +00:00", "2026-03-02 09:07:00 +00:00", "2026-03-02 11:07:31 +00:00"}},
		{name: "order told by the job", dates: timecode.MDY, text: "time\n01/02/2026 10:07",
			want: []string{"2026-01-02 10:07:00 +00:00"}},
		{name: "order settled by the job's date", date: push, text: "time\n02/03/2026 10:07",
			want: []string{"2026-03-02 10:07:00 +00:00"}},
		{name: "order settled by the job's date, month first", date: push, text: "time\n03/02/2026 10:07",
			want: []string{"2026-03-02 10:07:00 +00:00"}},
		{name: "order settled by another row", text: "time\n01/02/2026 23:07\n01/13/2026 10:07",
			want: []string{"2026-01-02 23:07:00 +00:00", "2026-01-13 10:07:00 +00:00"}},
		{name: "order settled by the order of rows", text: "time\n01/12/2026 10:07\n02/11/2026 10:07",
			want: []string{"2026-01-12 10:07:00 +00:00", "2026-02-11 10:07:00 +00:00"}},
		{name: "order settled since no push takes weeks", text: "time\n01/02/2026 10:07\n02/02/2026 10:07",
			want: []string{"2026-02-01 10:07:00 +00:00", "2026-02-02 10:07:00 +00:00"}},
		{name: "year first, told by the job's date", date: push, text: "time\n26/03/02 10:07",
			want: []string{"2026-03-02 10:07:00 +00:00"}},
		{name: "dots are day first", text: "time\n02.03.2026 10:07",
			want: []string{"2026-03-02 10:07:00 +00:00"}},
		{name: "summer time starts during the push", date: timecode.Date{Year: 2026, Month: 3, Day: 29}, text: "time\n00:58\n02:01",
			want: []string{"2026-03-29 00:58:00 +00:00", "2026-03-29 02:01:00 +01:00"}},
		{name: "the hour that doesn't exist", date: timecode.Date{Year: 2026, Month: 3, Day: 29}, text: "time\n00:58\n01:30\n02:01",
			want: []string{"2026-03-29 00:58:00 +00:00", "", "2026-03-29 02:01:00 +01:00"}},
		{name: "the hour that comes twice, told by a step back", date: timecode.Date{Year: 2026, Month: 10, Day: 25},
			text: "time\n01:30\n01:50\n01:10\n01:40\n02:10",
			want: []string{"2026-10-25 01:30:00 +01:00", "2026-10-25 01:50:00 +01:00", "2026-10-25 01:10:00 +00:00", "2026-10-25 01:40:00 +00:00", "2026-10-25 02:10:00 +00:00"}},
		{name: "the hour that comes twice, told by the rows before", date: timecode.Date{Year: 2026, Month: 10, Day: 25},
			text: "time\n00:40\n00:55\n01:10",
			want: []string{"2026-10-25 00:40:00 +01:00", "2026-10-25 00:55:00 +01:00", "2026-10-25 01:10:00 +01:00"}},
		{name: "the hour that comes twice, told by the rows after", date: timecode.Date{Year: 2026, Month: 10, Day: 25},
			text: "time\n01:40\n01:55\n02:05",
			want: []string{"2026-10-25 01:40:00 +00:00", "2026-10-25 01:55:00 +00:00", "2026-10-25 02:05:00 +00:00"}},
		{name: "seconds out of order aren't the hour that comes twice", date: timecode.Date{Year: 2026, Month: 10, Day: 25},
			text: "time\n00:58:10\n01:04:49\n01:04:41\n01:06:02",
			want: []string{"2026-10-25 00:58:10 +01:00", "2026-10-25 01:04:49 +01:00", "2026-10-25 01:04:41 +01:00", "2026-10-25 01:06:02 +01:00"}},
		{name: "the hour that comes twice, with its offset", date: timecode.Date{Year: 2026, Month: 10, Day: 25},
			text: "time\n01:40 +01:00\n01:40 +00:00",
			want: []string{"2026-10-25 01:40:00 +01:00", "2026-10-25 01:40:00 +00:00"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			log := mustRead(t, tt.text, Options{File: "log.csv", Date: tt.date, Zone: lisbon, Dates: tt.dates})
			if got := instants(log, lisbon); !slices.Equal(got, tt.want) {
				t.Errorf("got  %q\nwant %q\nfaults %v", got, tt.want, log.Faults)
			}
			missing := 0
			for _, w := range tt.want {
				if w == "" {
					missing++
				}
			}
			if len(log.Faults) != missing {
				t.Errorf("faults %v", log.Faults)
			}
		})
	}
}

func TestOpenTimesAreAskedFor(t *testing.T) {
	october := timecode.Date{Year: 2026, Month: 10, Day: 25}
	tests := []struct {
		name, text string
		date       timecode.Date
		file       []string // all of these stand in the fault
	}{
		{name: "date order", text: "time,distance\n10:05,1 m\n01/02/2026 10:07,12.4 m\n01/02/2026 10:09,13 m",
			file: []string{"row 2 (line 3)", `"time"`, `"01/02/2026 10:07"`, "1 February 2026", "2 January 2026", "one more cell",
				`under [log] in job.toml write dates = "dmy" for 1 February 2026   or   dates = "mdy" for 2 January 2026`}},
		{name: "date order in a column of dates", text: "date,time\n01/02/2026,10:07\n",
			file: []string{`column "date"`, `value "01/02/2026"`, `dates = "dmy"`, `dates = "mdy"`}},
		{name: "the hour that comes twice", text: "time\n01:30\n", date: october,
			file: []string{"row 1 (line 2)", "01:30 +01:00", "01:30 +00:00", `zone = "Etc/GMT-1"`, `zone = "Etc/GMT"`}},
		{name: "time of day or since the start", text: "Clock time,distance\n10:07.31,1\n11:20.05,2",
			file: []string{`time = "Clock time"`, `elapsed = "Clock time"`}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			l := stopped(t, tt.text, Options{File: "log.csv", Date: tt.date, Zone: zone(t, "Europe/Lisbon")})
			if len(l) != 1 {
				t.Errorf("%d faults: %v", len(l), l)
			}
			said := l[0].Error() + " " + l[0].Hint.String()
			for _, w := range tt.file {
				if !strings.Contains(said, w) {
					t.Errorf("%q isn't in\n%s", w, said)
				}
			}
		})
	}
}

func TestElapsedTimes(t *testing.T) {
	tests := []struct {
		name, text string
		columns    map[string]string
		want       []time.Duration
		half       time.Duration
	}{
		{"by its header", "elapsed,distance\n0:35,1\n1:20,2\n1:02:03,3", nil,
			[]time.Duration{35*time.Second + 5e8, 80*time.Second + 5e8, 3723*time.Second + 5e8}, 5e8},
		{"by the job", "T,distance\n0:35,1\n90,2", map[string]string{"elapsed": "T"},
			[]time.Duration{35*time.Second + 5e8, 90*time.Second + 5e8}, 5e8},
		{"since they can be nothing else", "time,distance\nT+0:35,1\n5:14.2,2\n25:10:00,3", nil,
			[]time.Duration{35*time.Second + 5e8, 314*time.Second + 250e6, 25*time.Hour + 10*time.Minute + 5e8}, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			log := mustRead(t, tt.text, Options{File: "log.csv", Date: push, Columns: tt.columns})
			if !log.Elapsed || len(log.Faults) > 0 {
				t.Fatalf("elapsed %t, faults %v", log.Elapsed, log.Faults)
			}
			for i, want := range tt.want {
				m := log.Rows[i].Time
				if m == nil || m.Log != timecode.Log(want) || tt.half != 0 && m.Half != tt.half {
					t.Errorf("row %d: %+v, want %v", i+1, m, want)
				}
			}
		})
	}
}

func TestOneLongTimeDoesNotMakeALogElapsed(t *testing.T) {
	log := mustRead(t, "time,distance\n10:07,1\n10:08,2\n25:10:00,3", lisbon(t))
	if log.Elapsed || log.Rows[2].Time != nil || len(log.Faults) != 1 || !strings.Contains(log.Faults[0].Error(), `row 3 (line 4), column "time", value "25:10:00"`) {
		t.Errorf("elapsed %t, %+v, %v", log.Elapsed, log.Rows[2].Time, log.Faults)
	}
}

func TestALogWithoutAnyDate(t *testing.T) {
	log := mustRead(t, "time\n10:07\n10:08", Options{File: "log.csv", Zone: zone(t, "America/New_York")})
	if want := timecode.Log(10*time.Hour + 7*time.Minute + 30*time.Second); !log.Undated || log.Rows[0].Time.Log != want {
		t.Errorf("undated %t, %v, want %v", log.Undated, log.Rows[0].Time.Log, want)
	}
}

func TestSuspiciousTimesAreTold(t *testing.T) {
	log := mustRead(t, "time\n11:50\n12:10\n1:05", lisbon(t))
	if len(log.Notes) != 1 || !strings.Contains(log.Notes[0].String(), "13:05") {
		t.Errorf("notes %q", log.Notes)
	}
	log = mustRead(t, "time\n0:00:35\n0:01:20", lisbon(t))
	if len(log.Notes) != 1 || !strings.Contains(log.Notes[0].String(), `elapsed = "time"`) {
		t.Errorf("notes %q", log.Notes)
	}
}
