package document

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"regexp"
	"slices"
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

func TestDocumentFitsItsSchema(t *testing.T) {
	full := sheet(t)
	full.Recording.Starts = logTime(t, "10:00:00.0")
	full.Firm = jobsheet.Firm{Contact: jobsheet.Contact{Name: "Alder Drains"}, Licence: "D-17"}
	full.Customer = jobsheet.Contact{Name: "M. Serra", Phone: "000"}
	full.Site = jobsheet.Site{Address: "4 Quarry Lane", Access: "key under the third pot"}
	full.Line.Travel = "downstream"
	const rows = "time,video,distance,to,what,clock,urgency,depth\n10:00:45.0,,4.0 m,7 m,roots,9-3,repair,1.2 m\n,70.0,40.5 ft\n,,,,crack\n11:00:00.0\n"
	rec := recordingOf(60, 40)
	rec.Parts[0].File = `visit\part1.mp4`
	rec.Parts[1].Damage = words.Tell("it ends early")
	for name, in := range map[string]timeline.Input{
		"a full job":       {Sheet: full, Recording: rec, Log: logOf(t, full, rows), Readings: readings(90)},
		"a bare recording": {Recording: recordingOf(10)},
		"an untied log":    {Sheet: sheet(t), Recording: rec, Log: logOf(t, full, rows)},
	} {
		data, err := json.Marshal(of(t, in))
		if err != nil {
			t.Fatal(err)
		}
		if wrong := againstSchema(t, data); len(wrong) > 0 {
			t.Errorf("%s: %s", name, strings.Join(wrong, "\n"))
		}
	}
}

func TestSchemaRefusesWhatIsWrong(t *testing.T) {
	data, _ := json.Marshal(of(t, timeline.Input{Recording: recordingOf(10)}))
	for name, change := range map[string][2]string{
		"a missing field":    {`"unplaced":[],`, ``},
		"another version":    {`"version":1`, `"version":2`},
		"text for a number":  {`"duration_s":10`, `"duration_s":"10"`},
		"a backslash":        {`part1.mp4`, `part\\1.mp4`},
		"an unknown basis":   {`"basis":null`, `"basis":"magic"`},
		"a negative time":    {`"start_s":0`, `"start_s":-1`},
		"a list for an item": {`"segments":[]`, `"segments":{}`},
	} {
		spoilt := strings.Replace(string(data), change[0], change[1], 1)
		if spoilt == string(data) {
			t.Fatalf("%s: nothing to spoil in %s", name, data)
		}
		if len(againstSchema(t, []byte(spoilt))) == 0 {
			t.Errorf("%s passes", name)
		}
	}
}

func TestDocumentHoldsWhatIsKnownAndNullForTheRest(t *testing.T) {
	s := sheet(t)
	s.Recording.Starts = logTime(t, "10:00:00.0")
	log := logOf(t, s, "video,distance,what\n5.0,40.5 ft,roots\n8.0\n")
	data, err := json.Marshal(of(t, timeline.Input{Sheet: s, Recording: recordingOf(10), Log: log}))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		`"video_s":5,`, `"distance_m":12.3444,`, `"distance_to_m":null`, `"true_time":"2026-03-02T10:00:05.050+00:00"`,
		`"clock_from":null`, `"still":null`, `"handover":null`, `"sha256":null`, `"what":null`, `"zone":"Europe/Lisbon"`,
	} {
		if !strings.Contains(string(data), want) {
			t.Errorf("no %s in %s", want, data)
		}
	}
}

// A true time says what it is known by, so that nobody takes a clock that may be years off
// for a checked one.
func TestTrueTimeSaysWhatItIsKnownBy(t *testing.T) {
	began := time.Date(2026, 3, 2, 10, 0, 0, 0, time.UTC)
	hour := time.Hour
	for _, c := range []struct {
		what   string
		change func(*jobsheet.Sheet, *timeline.Recording, *fieldlog.Log)
		want   [3]string // of the parts and the observation
	}{
		{"the job sheet's start, and file times for what follows", func(s *jobsheet.Sheet, rec *timeline.Recording, _ *fieldlog.Log) {
			s.Recording.Starts = logTime(t, "10:00:00.0")
			rec.Parts[0].Began, rec.Parts[1].Began = began, began.Add(5*time.Minute)
		}, [3]string{"log clock", "file times", "log clock"}},
		{"file times alone", func(_ *jobsheet.Sheet, rec *timeline.Recording, _ *fieldlog.Log) {
			rec.Parts[0].Began = began
		}, [3]string{"file times", "", "file times"}},
		{"the recorder's clock in the picture", func(_ *jobsheet.Sheet, rec *timeline.Recording, _ *fieldlog.Log) {
			rec.Parts[0].Shown = &timeline.Shown{At: began, Dated: true}
		}, [3]string{"recorder clock", "", "recorder clock"}},
		{"file times that the job sheet puts right", func(s *jobsheet.Sheet, rec *timeline.Recording, _ *fieldlog.Log) {
			s.Recording.Ahead, rec.Parts[0].Began = &hour, began.Add(hour)
		}, [3]string{"corrected recorder clock", "", "corrected recorder clock"}},
		{"a log that counts from its own zero, tied by the sheet", func(s *jobsheet.Sheet, rec *timeline.Recording, log *fieldlog.Log) {
			log.Elapsed, log.Rows[0].Time.Log = true, timecode.LogSeconds(30)
			s.Recording.Starts = logTime(t, "0:00:00.0")
			rec.Parts[0].Began = began
		}, [3]string{"file times", "", "file times"}},
		{"nothing", func(*jobsheet.Sheet, *timeline.Recording, *fieldlog.Log) {}, [3]string{}},
	} {
		s, rec := sheet(t), recordingOf(60, 60)
		log := logOf(t, s, "time,what\n10:00:30.0,roots\n")
		c.change(s, &rec, log)
		d := of(t, timeline.Input{Sheet: s, Recording: rec, Log: log})
		var got [3]string
		for i, at := range []*string{d.Recording.Parts[0].TrueTimeBasis, d.Recording.Parts[1].TrueTimeBasis, nil} {
			if i == 2 && len(d.Observations) > 0 {
				at = d.Observations[0].TrueTimeBasis
			}
			if at != nil {
				got[i] = *at
			}
		}
		if got != c.want {
			t.Errorf("%s: %q, want %q", c.what, got, c.want)
		}
		if data, _ := json.Marshal(d); len(againstSchema(t, data)) > 0 {
			t.Errorf("%s: %q", c.what, againstSchema(t, data))
		}
	}
}

func TestContactsCanBeLeftOut(t *testing.T) {
	s := sheet(t)
	s.Customer = jobsheet.Contact{Name: "M. Serra", Phone: "0123"}
	s.Site = jobsheet.Site{Address: "4 Quarry Lane", Access: "key under the third pot"}
	data, _ := json.Marshal(of(t, timeline.Input{Sheet: s.WithoutContacts(), Recording: recordingOf(10)}))
	if strings.Contains(string(data), "Serra") || strings.Contains(string(data), "pot") || !strings.Contains(string(data), "Quarry") {
		t.Errorf("%s", data)
	}
	if s.Customer.Name == "" || s.Site.Access == "" {
		t.Error("the original lost its contacts")
	}
	if wrong := againstSchema(t, data); len(wrong) > 0 {
		t.Errorf("%q", wrong)
	}
}

// sheet is a job sheet of 2 March 2026 in Lisbon.
func sheet(t *testing.T) *jobsheet.Sheet {
	t.Helper()
	zone, err := time.LoadLocation("Europe/Lisbon")
	if err != nil {
		t.Fatal(err)
	}
	s := jobsheet.Default()
	s.File, s.Job.Zone, s.Job.Date = "job.toml", zone, jobsheet.Date{Year: 2026, Month: time.March, Day: 2}
	return s
}

func logTime(t *testing.T, text string) *jobsheet.LogTime {
	t.Helper()
	written, err := timecode.ParseClock(text, "")
	if err != nil {
		t.Fatal(err)
	}
	return &jobsheet.LogTime{Written: written[0], Text: text}
}

func logOf(t *testing.T, s *jobsheet.Sheet, csv string) *fieldlog.Log {
	t.Helper()
	day := timecode.Date{Year: s.Job.Date.Year, Month: s.Job.Date.Month, Day: s.Job.Date.Day}
	log, err := fieldlog.Read(context.Background(), strings.NewReader(csv), fieldlog.Options{File: "log.csv", Date: day, Zone: s.Job.Zone})
	if err != nil {
		t.Fatal(err)
	}
	return log
}

// recordingOf is a recording at 25 frames a second, in parts of whole seconds.
func recordingOf(seconds ...int) timeline.Recording {
	var rec timeline.Recording
	for i, length := range seconds {
		part := timeline.Part{File: fmt.Sprintf("part%d.mp4", i+1), Start: rec.End, First: len(rec.Frames), Duration: time.Duration(length) * time.Second}
		for n := range length * 25 {
			rec.Frames = append(rec.Frames, part.Start+timecode.Video(n)*4e7)
		}
		rec.End = part.Start.Add(part.Duration)
		rec.Parts = append(rec.Parts, part)
	}
	return rec
}

// readings are a counter's, one a second, of a camera pushed at 0.1 m a second.
func readings(seconds int) []distance.Reading {
	var all []distance.Reading
	for s := range seconds {
		all = append(all, distance.Reading{At: timecode.VideoSeconds(float64(s)), Shown: distance.Metres(s) / 10, Source: distance.FromPicture})
	}
	return all
}

func of(t *testing.T, in timeline.Input) *Document {
	t.Helper()
	line, err := timeline.Resolve(context.Background(), in)
	if err != nil {
		t.Fatal(err)
	}
	return Of(line, words.English())
}

// againstSchema checks data by the keywords that timeline.schema.json uses, with
// the meaning that JSON Schema 2020-12 gives them.
func againstSchema(t *testing.T, data []byte) []string {
	t.Helper()
	text, err := os.ReadFile("timeline.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	var schema map[string]any
	var value any
	if err := json.Unmarshal(text, &schema); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, &value); err != nil {
		t.Fatal(err)
	}
	var wrong []string
	check(t, "$", schema, value, &wrong)
	return wrong
}

func check(t *testing.T, at string, schema map[string]any, value any, wrong *[]string) {
	fail := func(format string, args ...any) { *wrong = append(*wrong, at+": "+fmt.Sprintf(format, args...)) }
	for keyword, want := range schema {
		switch keyword {
		case "$schema", "title", "description":
		case "type":
			names, many := want.([]any)
			if !many {
				names = []any{want}
			}
			if !slices.ContainsFunc(names, func(n any) bool { return isOf(n.(string), value) }) {
				fail("%v isn't %v", value, want)
			}
		case "const":
			if value != want {
				fail("%v isn't %v", value, want)
			}
		case "enum":
			if !slices.Contains(want.([]any), value) {
				fail("%v isn't one of %v", value, want)
			}
		case "pattern":
			if s, ok := value.(string); ok && !regexp.MustCompile(want.(string)).MatchString(s) {
				fail("%q doesn't match %v", s, want)
			}
		case "minimum":
			if n, ok := value.(float64); ok && n < want.(float64) {
				fail("%v is below %v", n, want)
			}
		case "maximum":
			if n, ok := value.(float64); ok && n > want.(float64) {
				fail("%v is above %v", n, want)
			}
		case "multipleOf":
			if n, ok := value.(float64); ok && n/want.(float64) != float64(int(n/want.(float64))) {
				fail("%v isn't a multiple of %v", n, want)
			}
		case "items":
			if list, ok := value.([]any); ok {
				for i, item := range list {
					check(t, fmt.Sprintf("%s[%d]", at, i), want.(map[string]any), item, wrong)
				}
			}
		case "properties":
			if object, ok := value.(map[string]any); ok {
				for name, sub := range want.(map[string]any) {
					if v, there := object[name]; there {
						check(t, at+"."+name, sub.(map[string]any), v, wrong)
					}
				}
				for name := range object {
					if _, known := want.(map[string]any)[name]; !known {
						fail("the schema doesn't tell of %q", name)
					}
				}
			}
		case "required":
			if object, ok := value.(map[string]any); ok {
				for _, name := range want.([]any) {
					if _, there := object[name.(string)]; !there {
						fail("%v is missing", name)
					}
				}
			}
		default:
			t.Fatalf("the schema uses %q, which this check doesn't know", keyword)
		}
	}
}

func isOf(name string, value any) bool {
	switch v := value.(type) {
	case nil:
		return name == "null"
	case string:
		return name == "string"
	case bool:
		return name == "boolean"
	case float64:
		return name == "number" || name == "integer" && v == float64(int64(v))
	case []any:
		return name == "array"
	}
	return name == "object"
}
