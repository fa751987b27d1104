package fieldlog

import (
	"strings"
	"testing"

	"pushcue/timeline/timecode"
)

// What spreadsheets make of cells: seen in spreadsheets set to the languages named;
// common practice, no published source.
func TestSpoiltCellsAreRecognised(t *testing.T) {
	tests := []struct {
		column, value string
		order         timecode.DateOrder
		typed         string // what the fault must say it likely was
	}{
		{"clock", "9-Mar", "", "9-3 or 3-9"}, {"clock", "09-mars", "", "9-3"}, {"clock", "9. Mrz", "", "9-3"}, {"clock", "09-mrz", "", "9-3"},
		{"clock", "9-Mar", timecode.MDY, "3-9"}, {"clock", "46090", "", "9-3"}, {"clock", "2026-03-09", "", "9-3"},
		{"clock", "2026-03-09 00:00:00", "", "9-3"}, {"clock", "09/03/2026", timecode.DMY, "9-3"}, {"clock", "3/9/2026", timecode.MDY, "3-9"},
		{"clock", "12-jun", "", "12-6"}, {"clock", "12-juin", "", "12-6"},
		{"distance", "1-Feb", "", "1.2"}, {"distance", "01. Feb", "", "1.2"}, {"distance", "01-févr", "", "1.2"}, {"distance", "01.02.2026", "", "1.2"},
		{"distance", "46054", "", "1.2"}, {"distance", "Dez 40", "", "12.40"}, {"distance", "1,2E+05", "", "120000"}, {"distance", "1.2E+05", "", "120000"},
		{"distance", "#NAME?", "", ""}, {"distance", "#####", "", ""}, {"clock", "#VALUE!", "", ""},
		{"time", "0.421527778", "", "10:07"}, {"time", "0,421886574", "", "10:07:31"}, {"time", "10. Jul", "", "10:07"},
		{"to", "15-Dec", "", "15.12"}, {"depth", "1-Feb", "", "1.2"},
	}
	for _, tt := range tests {
		o := lisbon(t)
		o.Dates = tt.order
		log := mustRead(t, "video;"+tt.column+";note\n5:14;"+tt.value+";x", o)
		if len(log.Faults) != 1 {
			t.Errorf("%s %q: %d faults %v", tt.column, tt.value, len(log.Faults), log.Faults)
			continue
		}
		f := log.Faults[0]
		if !strings.Contains(f.Error(), tt.typed) || !strings.Contains(f.Error(), "spreadsheet") || tt.typed != "" && !strings.Contains(f.Hint.String(), "was it "+tt.typed) {
			t.Errorf("%s %q: %v; %s", tt.column, tt.value, f, f.Hint)
		}
		if f.Where().String() != `log.csv, row 1 (line 2), column "`+tt.column+`", value "`+tt.value+`"` {
			t.Errorf("%s", f.Where())
		}
		row := log.Rows[0]
		if row.Clock != nil || row.Distance != nil || row.To != nil || row.Depth != nil || row.Time != nil || row.Cells[1] != tt.value || row.Video == nil {
			t.Errorf("%s %q: %+v", tt.column, tt.value, row)
		}
	}
}

func TestHealthyCellsAreNotCalledSpoilt(t *testing.T) {
	for _, value := range []string{"12.4", "40'6\"", "9.3", "12 m 40", "1 234,5 m", "120", "1/2", "6½\""} {
		log := mustRead(t, "distance;note\n\""+strings.ReplaceAll(value, `"`, `""`)+"\";x", lisbon(t))
		if len(log.Faults) > 0 {
			t.Errorf("%q: %v", value, log.Faults)
		}
	}
}

func TestFormulasAndHostileTextAreJustText(t *testing.T) {
	for _, text := range []string{"=1+1", "@SUM(A1)", "-3+4", "{\\an8}", "<b>", "-->", "%{pts}", "\u202eabc", "🚰", strings.Repeat("x", 10_000), "a\x01b"} {
		log := mustRead(t, "distance;what;note\n12.4;\""+text+"\";\""+text+"\"", lisbon(t))
		if r := log.Rows[0]; r.Note != text || r.What.Text != text || r.Cells[2] != text || r.What.Key != "" {
			t.Errorf("%q: %+v", text, r)
		}
	}
}
