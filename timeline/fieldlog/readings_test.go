package fieldlog

import (
	"bytes"
	"context"
	"os"
	"strings"
	"testing"
	"time"

	"pushcue/timeline/fault"
	"pushcue/timeline/timecode"
)

func TestReadReadings(t *testing.T) {
	file, err := os.Open("../../testdata/logs/readings-en.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rs, err := ReadReadings(context.Background(), file, Options{File: "counter.csv"})
	if err != nil {
		t.Fatal(err)
	}
	want := []struct {
		at timecode.Video
		m  float64
	}{{0, 0}, {timecode.VideoSeconds(10.5), 1.2}, {timecode.VideoSeconds(21), 2.4}, {timecode.VideoSeconds(3723), 12.4}}
	if len(rs.Rows) != len(want) || len(rs.Faults) > 0 {
		t.Fatalf("%+v, %v", rs.Rows, rs.Faults)
	}
	for i, w := range want {
		if r := rs.Rows[i]; r.Video.At != w.at || float64(r.Distance.Metres) != w.m || r.Number != i+1 || r.Line != i+2 {
			t.Errorf("reading %d: %+v at %v, want %+v", i+1, r, r.Video, w)
		}
	}
}

func TestReadingsByTheClockInFeet(t *testing.T) {
	o := lisbon(t)
	rs, err := ReadReadings(context.Background(), strings.NewReader("time;Footage\n10:07:31;10\n10:07:32;\n;12\n10:07:33;10-Feb\n10:07:34;20,5"), o)
	if err != nil {
		t.Fatal(err)
	}
	if len(rs.Rows) != 2 || len(rs.Faults) != 1 || float64(rs.Rows[0].Distance.Metres) != 3.048 || rs.Rows[1].Number != 5 {
		t.Errorf("%+v, %v", rs.Rows, rs.Faults)
	}
	if at := rs.Rows[0].Time.Log.Time(time.UTC); at != time.Date(2026, 3, 2, 10, 7, 31, 5e8, time.UTC) {
		t.Errorf("%v", at)
	}
}

func TestWhatTheJobSaysOfTheLogIsOnlyAFallback(t *testing.T) {
	o := lisbon(t)
	o.Columns = map[string]string{"distance": "Meterage", "urgency": "grade"}
	o.Charset, o.Decimal = "windows-1252", ','
	rs, err := ReadReadings(context.Background(), strings.NewReader("vidéo,distance\n1,0.5\n2,1.234"), o)
	if err != nil || len(rs.Rows) != 2 || float64(rs.Rows[1].Distance.Metres) != 1.234 {
		t.Errorf("%+v, %v", rs, err)
	}
	rs, err = ReadReadings(context.Background(), strings.NewReader("video;Meterage;distance\n1;1,234;left"), o)
	if err != nil || len(rs.Rows) != 1 || float64(rs.Rows[0].Distance.Metres) != 1.234 {
		t.Errorf("%+v, %v", rs, err)
	}
	k, err := ReadKinds(context.Background(), strings.NewReader("code,words\nRT,raíces"), Options{Charset: "windows-1252"})
	if err != nil || k.Entries[0].Key != "roots" {
		t.Errorf("%+v, %v", k, err)
	}
}

func TestReadingsThatHoldNothingAreRefused(t *testing.T) {
	for _, text := range []string{"time,note\n10:07,x", "distance,note\n12.4,x", "video,distance\nlunch,12.4", "0,0.0\n10,1.2"} {
		_, err := ReadReadings(context.Background(), strings.NewReader(text), lisbon(t))
		if l, ok := fault.In(err); !ok || l[0].Hint.Empty() {
			t.Errorf("%q: %v", text, err)
		}
	}
}

func TestManyReadingsAreRead(t *testing.T) {
	var b bytes.Buffer
	b.WriteString("video,distance\n")
	for i := range 20_000 {
		b.WriteString(strings.Join([]string{plainNumber(float64(i) / 10), plainNumber(float64(i) / 100)}, ",") + "\n")
	}
	rs, err := ReadReadings(context.Background(), &b, Options{Decimal: '.'})
	if err != nil || len(rs.Rows) != 20_000 {
		t.Fatalf("%d rows, %v", len(rs.Rows), err)
	}
}

func FuzzReadReadings(f *testing.F) {
	f.Add("video,distance\n0:10.5,1.2\n")
	f.Add("time;Footage\n10:07:31;10\n")
	f.Add("video\tdistance\n1\t1,234\n")
	f.Fuzz(func(t *testing.T, text string) {
		rs, err := ReadReadings(context.Background(), strings.NewReader(text), Options{Date: push})
		if err != nil {
			return
		}
		for _, r := range rs.Rows {
			if r.Time == nil && r.Video == nil {
				t.Errorf("%+v", r)
			}
		}
	})
}
