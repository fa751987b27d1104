package fieldlog

import "testing"

func TestParseClockSpan(t *testing.T) {
	tests := []struct {
		text     string
		from, to float64
	}{
		{"3", 3, 3}, {"12", 12, 12}, {" 9 ", 9, 9}, {"09", 9, 9}, {"'9-3", 9, 3},
		{"9-3", 9, 3}, {"9–3", 9, 3}, {"9 — 3", 9, 3}, {"9−3", 9, 3}, {"12/6", 12, 6}, {"9..3", 9, 3}, {"9→3", 9, 3},
		{"3 o'clock", 3, 3}, {"3 O’CLOCK", 3, 3}, {"at 3 o'clock", 3, 3}, {"from 9 to 3 o'clock", 9, 3}, {"09 to 03", 9, 3},
		{"03:00", 3, 3}, {"3:30", 3.5, 3.5}, {"03:00:00", 3, 3}, {"9:00-3:00", 9, 3}, {"12:30", 0.5, 0.5}, {"0:30", 0.5, 0.5},
		{"3.5", 3.5, 3.5}, {"3,5", 3.5, 3.5}, {"12.5", 0.5, 0.5}, {"3.0", 3, 3},
		{"3 Uhr", 3, 3}, {"von 9 bis 3 Uhr", 9, 3}, {"3h", 3, 3}, {"3h30", 3.5, 3.5}, {"à 3 h", 3, 3}, {"de 9 h à 3 h", 9, 3},
		{"a las 3", 3, 3}, {"de 9 a 3", 9, 3}, {"(3)", 3, 3},
		{"crown", 12, 12}, {"Sohle", 6, 6}, {"radier", 6, 6}, {"clave", 12, 12}, {"crown to 3", 12, 3},
		{"12-12", 0.5, 12}, {"6-6", 6.5, 6},
	}
	for _, tt := range tests {
		got, err := ParseClockSpan(tt.text)
		if want := (ClockSpan{tt.from, tt.to, tt.text}); err != nil || got != want {
			t.Errorf("ParseClockSpan(%q) = %+v, %v, want %+v", tt.text, got, err, want)
		}
	}
	for _, text := range []string{"", " ", "0", "00:00", "13", "24", "13:00", "3:15", "3.25", "9-", "-3", "9-3-6", "9 3", "903", "0903", "9--3",
		"at joint", "9-Mar", "2026-03-09", "to", "9 to", "3 pm", "#NAME?", "9+3", "٣", "3 o'clock 4", "9-3\x00", "99999999999999999999"} {
		if got, err := ParseClockSpan(text); err == nil {
			t.Errorf("ParseClockSpan(%q) = %+v, want an error", text, got)
		}
	}
}

func FuzzParseClockSpan(f *testing.F) {
	for _, s := range []string{"3", "9-3", "9–3", "3 o'clock", "03:00", "12/6", "09 to 03", "de 9 h à 3 h", "crown", "3h30", "9-Mar", "12.5"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		got, err := ParseClockSpan(s)
		if err != nil {
			return
		}
		for _, h := range []float64{got.From, got.To} {
			if h < 0.5 || h > 12 || h*2 != float64(int(h*2)) {
				t.Errorf("%q: %+v", s, got)
			}
		}
	})
}
