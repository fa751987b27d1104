package fieldlog

import (
	"math"
	"strings"
	"testing"

	"pushcue/timeline/distance"
)

func TestDistanceCells(t *testing.T) {
	const none = -1
	tests := []struct {
		text     string
		unit     distance.Unit
		from, to float64 // metres
	}{
		{"12.4 m", "", 12.4, none}, {"12.4m", "", 12.4, none}, {"12,4", "", 12.4, none}, {"40.5 ft", "", 40.5 * 0.3048, none},
		{`40'6"`, "", 40.5 * 0.3048, none}, {"40 ft 6 in", "", 40.5 * 0.3048, none}, {`40'-6"`, "", 40.5 * 0.3048, none},
		{"'12.4", "", 12.4, none}, {"\u00a012.4 m", "", 12.4, none}, {"10", distance.Foot, 3.048, none},
		{"12 to 15", "", 12, 15}, {"12-15", "", 12, 15}, {"12.5–15.25 m", "", 12.5, 15.25}, {"12 bis 15 m", "", 12, 15},
		{"de 12 à 15", "", 12, 15}, {"from 12 to 15 ft", "", 12 * 0.3048, 15 * 0.3048}, {"desde 12 hasta 15", "", 12, 15},
		{`40'6" to 41'`, "", 40.5 * 0.3048, 41 * 0.3048}, {"12...15", "", 12, 15}, {"12,4 bis 15,0", "", 12.4, 15},
	}
	for _, tt := range tests {
		o := lisbon(t)
		o.Unit = tt.unit
		log := mustRead(t, "distance;note\n\""+strings.ReplaceAll(tt.text, `"`, `""`)+"\";x", o)
		row := log.Rows[0]
		if row.Distance == nil || math.Abs(float64(row.Distance.Metres)-tt.from) > 1e-9 || row.Distance.Text != tt.text {
			t.Errorf("%q: %+v, want %v; %v", tt.text, row.Distance, tt.from, log.Faults)
		}
		if (row.To == nil) != (tt.to == none) || row.To != nil && math.Abs(float64(row.To.Metres)-tt.to) > 1e-9 {
			t.Errorf("%q: to %+v, want %v", tt.text, row.To, tt.to)
		}
	}
}

func TestUnreadableLengthsAreNamedAndLeftEmpty(t *testing.T) {
	log := mustRead(t, "time,distance,what\n10:07,at joint,roots\n10:08,12 to joint,crack", lisbon(t))
	if len(log.Faults) != 2 {
		t.Fatalf("%v", log.Faults)
	}
	for i, want := range []string{`log.csv, row 1 (line 2), column "distance", value "at joint"`, `log.csv, row 2 (line 3), column "distance", value "12 to joint"`} {
		if got := log.Faults[i].Where(); got.String() != want || log.Faults[i].Hint.Empty() {
			t.Errorf("%s, want %s; hint %q", got, want, log.Faults[i].Hint)
		}
		if r := log.Rows[i]; r.Distance != nil || r.Cells[1] == "" || r.Time == nil || r.What.Key == "" {
			t.Errorf("row %d: %+v", i+1, r)
		}
	}
}

func TestTheDecimalMarkIsSettledByTheRest(t *testing.T) {
	tests := []struct {
		name, text string
		decimal    rune
		want       float64
	}{
		{"by a comma elsewhere", "distance;note\n1,234;x\n12,4;y", 0, 1.234},
		{"by a point elsewhere", "distance;depth\n\"1,234\";1.5", 0, 1234},
		{"by a number of both kinds", "distance;note\n1,234;x\n1.000,5;y", 0, 1.234},
		{"by the job", "distance;note\n1,234;x", ',', 1.234},
		{"by the job, the other way", "distance;note\n1,234;x", '.', 1234},
		{"points", "distance;note\n1.234;x\n12.4;y", 0, 1.234},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			o := lisbon(t)
			o.Decimal = tt.decimal
			log := mustRead(t, tt.text, o)
			if d := log.Rows[0].Distance; d == nil || float64(d.Metres) != tt.want {
				t.Errorf("%+v, want %v", d, tt.want)
			}
		})
	}
}

func TestAnOpenDecimalMarkIsAskedForOnce(t *testing.T) {
	l := stopped(t, "distance;note\n1,234;x\n2,345;y\n3,456;z\n12;w", lisbon(t))
	want := `log.csv, row 1 (line 2), column "distance", value "1,234": this can be 1.234 m or 1234 m; 2 more cells are like this`
	if len(l) != 1 || l[0].Error() != want {
		t.Errorf("%v", l)
	}
	if want := `under [log] in job.toml write decimal = "," for 1.234 m   or   decimal = "." for 1234 m`; l[0].Hint.String() != want {
		t.Errorf("hint %q", l[0].Hint)
	}
}

func TestDecimalCommasBetweenCommasAreNotGuessed(t *testing.T) {
	l := stopped(t, "time,distance,what,note\n10:07,12,4,roots,heavy\n10:08,13,0 m,crack,\n10:09,14,bend,", lisbon(t))
	if len(l) != 2 || !strings.Contains(l[0].Error(), "12,4 can be one length with a decimal comma") || !strings.Contains(l[0].Hint.String(), "semicolons") {
		t.Errorf("%v", l)
	}
}

func TestRowsWiderThanTheHeaderAreNamed(t *testing.T) {
	log := mustRead(t, "time,distance,what,note\n10:07,12.4,roots,heavy, at the joint", lisbon(t))
	if len(log.Faults) != 1 || !strings.Contains(log.Faults[0].Error(), "row 1 (line 2): this row has 5 cells, the header has 4") {
		t.Errorf("%v", log.Faults)
	}
	if got := strings.Join(log.Rows[0].Cells, "|"); got != "10:07|12.4|roots|heavy| at the joint" || len(log.Header) != 5 {
		t.Errorf("cells %q, header %q", got, log.Header)
	}
}
