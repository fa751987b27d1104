package distance

import (
	"strings"
	"testing"
)

func TestCorrectionRunsStraightThroughZeroAndTapedPoints(t *testing.T) {
	tests := []struct {
		name        string
		c           Correction
		shown, want Metres
	}{
		{"nothing known", Correction{}, 12.4, 12.4},
		{"zero only", Correction{Zero: 0.6}, 12.4, 11.8},
		{"one taped point is met", Correction{Zero: 0.6, Taped: []Taped{{10.2, 10}}}, 10.2, 10},
		{"the zero is met", Correction{Zero: 0.6, Taped: []Taped{{10.2, 10}}}, 0.6, 0},
		{"half-way", Correction{Zero: 0.6, Taped: []Taped{{10.6, 11}}}, 5.6, 5.5},
		{"the last slope goes on", Correction{Taped: []Taped{{10, 10}, {20, 21}}}, 30, 32},
		{"the first slope goes on below the zero", Correction{Zero: 1, Taped: []Taped{{11, 20}}}, 0, -2},
		{"in any order", Correction{Taped: []Taped{{20, 21}, {10, 10}}}, 15, 15.5},
	}
	for _, test := range tests {
		if got := test.c.Apply(test.shown); (got - test.want).Abs() > 1e-9 {
			t.Errorf("%s: %v shown gives %v, want %v", test.name, test.shown, got, test.want)
		}
		if faults := test.c.Check(); len(faults) > 0 {
			t.Errorf("%s: %v", test.name, faults)
		}
	}
}

func TestUnusableTapedLengthsAreNamedAndPassedOver(t *testing.T) {
	for name, bad := range map[string]Taped{
		"at the zero":          {0.6, 2},
		"before the zero":      {0.2, 0.1},
		"no length":            {5, 0},
		"same counter twice":   {10.2, 11},
		"runs backwards":       {12, 9},
		"feet taken as metres": {40, 12},
	} {
		good := Correction{Zero: 0.6, Taped: []Taped{{10.2, 10}}}
		c := Correction{Zero: 0.6, Taped: append([]Taped{{10.2, 10}}, bad)}
		faults := c.Check()
		if len(faults) != 1 || !strings.Contains(faults[0].Text.String(), "can't be used") || faults[0].Hint.Empty() {
			t.Errorf("%s: faults %v, want one with a hint", name, faults)
		}
		if got, want := c.Apply(15), good.Apply(15); name != "no length" && got != want {
			t.Errorf("%s: 15 m gives %v, want %v as without it", name, got, want)
		}
	}
	if _, _, err := NewTrack(nil, TrackOptions{Correction: Correction{Taped: []Taped{{0, 1}}}}); err == nil {
		t.Error("a track with an unusable taped length should be refused")
	}
}
