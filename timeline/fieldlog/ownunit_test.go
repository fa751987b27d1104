package fieldlog

import (
	"testing"

	"pushcue/timeline/distance"
)

func TestOwnUnitOfALogIsTheOneThatIsWritten(t *testing.T) {
	for name, c := range map[string]struct {
		header string
		texts  []string
		want   distance.Unit
	}{
		"bare numbers":    {"distance", []string{"12.4", "3"}, ""},
		"in the header":   {"distance (ft)", []string{"12.4", "3"}, distance.Foot},
		"in a row":        {"distance", []string{"12.4", "3 m"}, distance.Metre},
		"feet and inches": {"distance", []string{`12'6"`}, distance.Foot},
		"both":            {"distance", []string{"3 m", "9 ft"}, ""},
	} {
		l := &Log{Header: []string{c.header}, Meaning: map[string]int{"distance": 0}}
		unit, _ := Options{}.unitOf(c.header)
		for _, text := range c.texts {
			d, err := distance.Parse(text, distance.ParseOptions{Unit: unit})
			if err != nil {
				t.Fatal(err)
			}
			l.Rows = append(l.Rows, Row{Distance: &d[0]})
		}
		if got := l.OwnUnit(); got != c.want {
			t.Errorf("%s: %q, want %q", name, got, c.want)
		}
	}
	var none *Log
	if none.OwnUnit() != "" {
		t.Error("no log has a unit")
	}
}
