package timeline

import (
	"encoding/json"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

func TestDocumentFitsItsSchema(t *testing.T) {
	full := sheetOf(t, startsAt("10:00:00.0"), lagOf(30*time.Second))
	full.Firm = jobsheet.Firm{Contact: jobsheet.Contact{Name: "Alder Drains"}, Licence: "D-17"}
	full.Customer = jobsheet.Contact{Name: "M. Serra", Phone: "000"}
	full.Site = jobsheet.Site{Address: "4 Quarry Lane", Access: "key under the third pot"}
	full.Line.Travel = "downstream"
	log := logOf(full, "time=10:00:45.0 & at=4.0 m & to=7 m & what=roots", "video=70.0 & at=40.5 ft", "what=crack", "time=11:00:00.0")
	log.Rows[0].Clock = &fieldlog.ClockSpan{From: 9, To: 3}
	log.Rows[0].Urgency, log.Rows[0].Depth = fieldlog.UrgencyRepair, lengthOf("1.2 m")
	rec := recordingOf(60, 40)
	rec.Parts[0].File = `visit\part1.mp4`
	rec.Parts[1].Damage = words.Tell("it ends early")
	for name, in := range map[string]Input{
		"a full job":       {Sheet: full, Recording: rec, Log: log, Readings: readingsOf(90, pushOf)},
		"a bare recording": {Recording: recordingOf(10)},
		"an untied log":    {Sheet: sheetOf(t), Recording: rec, Log: log},
	} {
		line := resolved(t, in)
		data, err := json.Marshal(line.Document())
		if err != nil {
			t.Fatal(err)
		}
		if wrong := againstSchema(t, data); len(wrong) > 0 {
			t.Errorf("%s: %s", name, strings.Join(wrong, "\n"))
		}
	}
}

func TestSchemaRefusesWhatIsWrong(t *testing.T) {
	data, _ := json.Marshal(resolved(t, Input{Recording: recordingOf(10)}).Document())
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
	s := sheetOf(t, startsAt("10:00:00.0"))
	log := logOf(s, "video=5.0 & at=40.5 ft & what=roots", "video=8.0")
	data, err := json.Marshal(resolved(t, Input{Sheet: s, Recording: recordingOf(10), Log: log}).Document())
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

func TestContactsCanBeLeftOut(t *testing.T) {
	s := sheetOf(t)
	s.Customer = jobsheet.Contact{Name: "M. Serra", Phone: "0123"}
	s.Site = jobsheet.Site{Address: "4 Quarry Lane", Access: "key under the third pot"}
	d := resolved(t, Input{Sheet: s, Recording: recordingOf(10)}).Document()
	data, _ := json.Marshal(d.WithoutContacts())
	if strings.Contains(string(data), "Serra") || strings.Contains(string(data), "pot") || !strings.Contains(string(data), "Quarry") {
		t.Errorf("%s", data)
	}
	if d.Job.Customer == nil || d.Job.Site.Access == nil {
		t.Error("the original lost its contacts")
	}
	if wrong := againstSchema(t, data); len(wrong) > 0 {
		t.Errorf("%q", wrong)
	}
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

func TestExplainTellsHowARowCameToItsPlace(t *testing.T) {
	line := dwelling(t, 30*time.Second, "time=10:00:45.0 & at=4.0 m & what=roots", "what=crack & time=12:00:00.0")
	why, ok := line.Explain(1)
	text := words.Join(why, words.Plain("\n")).String()
	for _, want := range []string{
		"Row 1 says what: roots, time 10:00:45.0, distance 4.0 m.", "The log's clock showed 10:00:45.0.",
		"standing at 4.0 m", "in 19 of 20 cases", "Its distance is 4.0 m, as the log has it.",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
	if why, ok = line.Explain(2); !ok || !strings.Contains(words.Join(why, words.Comma).String(), "It isn't placed: ") {
		t.Errorf("row 2: %q", why)
	}
	if _, ok := line.Explain(3); ok {
		t.Error("there is no row 3")
	}
}

func BenchmarkFourHoursAndTwoThousandRows(b *testing.B) {
	s := sheetOf(b, lagOf(30*time.Second))
	for i := range 6 {
		s.Anchors = append(s.Anchors, jobsheet.Anchor{Row: 1 + i*399, Video: timecode.VideoSeconds(float64(7*399*i) + 5), Half: 50 * time.Millisecond})
	}
	log := &fieldlog.Log{}
	began := timecode.LogAt(time.Date(2026, 3, 2, 10, 0, 0, 0, s.Job.Zone))
	push := func(v float64) float64 { return 10 * pushOf(float64(int(v)%1000)/10) }
	for i := range 2000 {
		v := float64(i*7) + 5
		row := rowOf(s, fmt.Sprintf("at=%.1f m & to=%.1f m & what=roots", push(v), push(v)+1))
		row.Number = i + 1
		row.Time = &fieldlog.Moment{Log: began.Add(time.Duration(v * 1e9)), Half: 50 * time.Millisecond, Text: "as shown"}
		log.Rows = append(log.Rows, row)
	}
	in := Input{Sheet: s, Recording: recordingOf(4 * 3600), Log: log, Readings: readingsOf(4*3600, push)}
	for _, tied := range []string{"anchors", "the track"} {
		b.Run("tied by "+tied, func(b *testing.B) {
			for range b.N {
				resolved(b, in)
			}
		})
		s.Anchors = nil
	}
}
