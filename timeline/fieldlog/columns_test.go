package fieldlog

import (
	"strings"
	"testing"
)

// A unit that isn't known is asked for: taken for metres, 240 cm would be 240 m.
func TestAnUnknownUnitInAHeaderIsAskedFor(t *testing.T) {
	for _, text := range []string{"Distance (yd)\n10", "Distance (km)\n10", "Distance [xq]\n10", "Distance yards\n10", "distance,Depth (dm)\n1.5 m,12"} {
		faults := stopped(t, text, lisbon(t))
		if len(faults) != 1 || !strings.Contains(faults[0].Text.String(), "isn't a unit that lengths are read in") {
			t.Errorf("%q: %v", text, faults)
		}
	}
}

func TestADepthGoesByTheUnitOfItsHeader(t *testing.T) {
	log := mustRead(t, "distance,Depth (cm)\n1.5,120", lisbon(t))
	if d := log.Rows[0].Depth; d == nil || d.Metres != 1.2 {
		t.Errorf("%+v", d)
	}
}

func TestColumnsFindTheirMeaning(t *testing.T) {
	tests := []struct {
		name, text string
		columns    map[string]string
		want       map[string]string // what each column of the one row was read as
	}{
		{"any order, unknown ones kept", "no,truck,note,distance,time\n7,blue,x,12.4,10:07", nil,
			map[string]string{"note": "x", "distance": "12.4 m", "time": "10:07"}},
		{"the job's own words", "Meterstand;Was war\n12,4;Wurzeln", map[string]string{"distance": "Meterstand", "what": "was war"},
			map[string]string{"distance": "12.4 m", "what": "roots"}},
		{"the job decides between two", "distance,meterage\n1.5,2.5", map[string]string{"distance": "Meterage"},
			map[string]string{"distance": "2.5 m"}},
		{"the job says what grade means", "distance,grade\n1.5,watch", map[string]string{"urgency": "grade"},
			map[string]string{"urgency": "watch"}},
		{"the job says that grade is the slope", "distance,grade\n1.5,watch", map[string]string{"slope": "grade"},
			map[string]string{"urgency": ""}},
		{"grade beside an urgency is the slope", "distance,grade,urgency\n1.5,2 %,repair", nil,
			map[string]string{"urgency": "repair"}},
		{"position beside a distance is the clock's", "distance,position\n1.5,9-3", nil,
			map[string]string{"distance": "1.5 m", "clock": "9-3"}},
		{"position with lengths in it is the distance", "time,position\n10:07,12.4 m", nil,
			map[string]string{"distance": "12.4 m", "clock": ""}},
		{"position with words in it is neither", "distance,position\n1.5,under the hedge", nil,
			map[string]string{"distance": "1.5 m", "clock": ""}},
		{"a description beside what was seen is a note", "distance,defect,description\n1.5,roots,thick", nil,
			map[string]string{"what": "roots", "note": "thick"}},
		{"a description alone is what was seen", "distance,description\n1.5,roots", nil,
			map[string]string{"what": "roots"}},
		{"of two the one that isn't empty", "distance,meterage\n,2.5", nil,
			map[string]string{"distance": "2.5 m"}},
		{"a unit in the header", "Dist. (ft)\n10", nil, map[string]string{"distance": "3.048 m"}},
		{"centimetres in the header", "Distance (cm)\n240", nil, map[string]string{"distance": "2.4 m"}},
		{"millimetres behind the header's word", "Entfernung mm\n2400", nil, map[string]string{"distance": "2.4 m"}},
		{"inches in the header", "Distance [in]\n100", nil, map[string]string{"distance": "2.54 m"}},
		{"a unit in another language", "Distancia (pulgadas)\n100", nil, map[string]string{"distance": "2.54 m"}},
		{"a stretch in centimetres", "distance\n120 to 150 cm", nil, map[string]string{"distance": "1.2 m"}},
		{"a word in brackets that is no unit", "Distance (counter)\n2.4", nil, map[string]string{"distance": "2.4 m"}},
		{"an unknown unit over values that have their own", "Distance (yd)\n2.4 m", nil, map[string]string{"distance": "2.4 m"}},
		{"feet by the header's word", "Footage\n10", nil, map[string]string{"distance": "3.048 m"}},
		{"a unit in the cell beats the header's", "Dist. (ft)\n10 m", nil, map[string]string{"distance": "10 m"}},
		{"names as programs write them", "video_s,distance_m\n31.5,12.4", nil, map[string]string{"distance": "12.4 m", "video": "31.5"}},
		{"code and words beside each other", "distance,code,what\n1.5,RX,roots", nil, map[string]string{"what": "roots"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			o := lisbon(t)
			o.Columns = tt.columns
			log := mustRead(t, tt.text, o)
			if len(log.Rows) != 1 || len(log.Faults) > 0 {
				t.Fatalf("%d rows, faults %v", len(log.Rows), log.Faults)
			}
			row := log.Rows[0]
			got := map[string]string{"note": row.Note, "urgency": string(row.Urgency), "what": row.What.Key, "clock": "", "distance": "", "time": "", "video": ""}
			if row.Distance != nil {
				got["distance"] = plainNumber(float64(row.Distance.Metres)) + " m"
			}
			if row.Clock != nil {
				got["clock"] = row.Clock.Text
			}
			if row.Time != nil {
				got["time"] = row.Time.Text
			}
			if row.Video != nil {
				got["video"] = row.Video.Text
			}
			for name, want := range tt.want {
				if got[name] != want {
					t.Errorf("%s: %q, want %q", name, got[name], want)
				}
			}
		})
	}
}

func TestOpenColumnsAreAskedFor(t *testing.T) {
	tests := []struct {
		name, text string
		columns    map[string]string
		said       []string
	}{
		{"grade", "distance,grade\n1.5,3", nil,
			[]string{`column "grade"`, "how urgent it is or the slope", `under [log.columns] in job.toml write urgency = "grade"   or   slope = "grade"`}},
		{"grade, even with words in it", "distance,Grade\n1.5,watch", nil, []string{`urgency = "Grade"`, `slope = "Grade"`}},
		{"position", "time,position\n10:07,3", nil, []string{"the distance or the clock position", `distance = "position"`, `clock = "position"`}},
		{"two that mean the same", "distance,Meterage\n1.5,2.5", nil,
			[]string{`"distance" (column 1)`, `"Meterage" (column 2)`, `distance = "distance"   or   distance = "Meterage"`}},
		{"the same word twice", "distance,distance\n1.5,2.5", nil, []string{"2 columns can hold the distance", "rename one of them in the log"}},
		{"a word of the job that isn't there", "distance,note\n1.5,x", map[string]string{"clock": "Uhr"},
			[]string{`column "Uhr" holds the clock position`, `"distance", "note"`}},
		{"nothing that places a row", "what,note\nroots,x", nil, []string{"nothing can be placed", `"what", "note"`}},
		{"no header", "10:07,12.4,roots\n10:08,13.0,crack", nil, []string{"no row has the header words", "[log.columns]"}},
		{"nothing at all", "", nil, []string{"the file is empty"}},
		{"blank lines only", "\n \n;;\n", nil, []string{"the file is empty"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			o := lisbon(t)
			o.Columns = tt.columns
			l := stopped(t, tt.text, o)
			said := l.Error()
			for _, f := range l {
				said += " " + f.Hint.String()
			}
			for _, w := range tt.said {
				if !strings.Contains(said, w) {
					t.Errorf("%q isn't in\n%s", w, said)
				}
			}
		})
	}
}

func TestEveryQuestionIsAskedAtOnce(t *testing.T) {
	l := stopped(t, "time,distance,grade,note,remark,clock\n01/02/2026 10:07,\"1,234\",3,a,b,9-Mar\nlunch,13,2,c,d,3", Options{File: "log.csv"})
	for _, want := range []string{"grade", `note = "remark"`, "1 February 2026", "1.234 m or 1234 m", "likely 9-3", `value "lunch"`} {
		found := false
		for _, f := range l {
			found = found || strings.Contains(f.Error()+f.Hint.String(), want)
		}
		if !found {
			t.Errorf("%q isn't in\n%v", want, l)
		}
	}
	if len(l) != 6 {
		t.Errorf("%d faults", len(l))
	}
}

func TestDuplicateAndUnknownColumnsAreKept(t *testing.T) {
	log := mustRead(t, "time,crew,crew,distance,\n10:07,ann,bob,12.4,left", lisbon(t))
	if got := strings.Join(log.Header, "|"); got != "time|crew|crew|distance|" {
		t.Errorf("header %q", got)
	}
	if got := strings.Join(log.Rows[0].Cells, "|"); got != "10:07|ann|bob|12.4|left" {
		t.Errorf("cells %q", got)
	}
}
