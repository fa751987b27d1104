package distance

import (
	"math"
	"strings"
	"testing"

	"pushcue/timeline/fault"
)

func TestLengthsAsPeopleWriteThem(t *testing.T) {
	tests := []struct {
		text    string
		options ParseOptions
		metres  Metres
		unit    Unit
		step    Metres
	}{
		{"12.4 m", ParseOptions{}, 12.4, Metre, 0.1},
		{"12,4", ParseOptions{}, 12.4, Metre, 0.1},
		{"12.4m", ParseOptions{}, 12.4, Metre, 0.1},
		{"12.40", ParseOptions{}, 12.4, Metre, 0.01},
		{"7", ParseOptions{}, 7, Metre, 1},
		{"12.", ParseOptions{}, 12, Metre, 1},
		{",5 m", ParseOptions{}, 0.5, Metre, 0.1},
		{"-0,3 m", ParseOptions{}, -0.3, Metre, 0.1},
		{"−0.3 m", ParseOptions{}, -0.3, Metre, 0.1},
		{"12.4 mts.", ParseOptions{}, 12.4, Metre, 0.1},
		{"12,4 Metros", ParseOptions{}, 12.4, Metre, 0.1},
		{"12,4 mètres", ParseOptions{}, 12.4, Metre, 0.1},
		{"12,4 Metern", ParseOptions{}, 12.4, Metre, 0.1},
		{"12.4\u00a0m", ParseOptions{}, 12.4, Metre, 0.1},
		{"12,4\u202fm", ParseOptions{}, 12.4, Metre, 0.1},
		{"85 cm", ParseOptions{}, 0.85, Metre, 0.01},
		{"850 mm", ParseOptions{}, 0.85, Metre, 0.001},
		{"12 m 40 cm", ParseOptions{}, 12.4, Metre, 0.01},
		{"12m40", ParseOptions{}, 12.4, Metre, 0.01},
		// 1 ft = 0.3048 m and 1 in = 0.0254 m exactly: 1959 agreement, NIST SP 811.
		{"40.5 ft", ParseOptions{}, 12.3444, Foot, 0.03048},
		{"40'6\"", ParseOptions{}, 12.3444, Foot, 0.0254},
		{"40 ft 6 in", ParseOptions{}, 12.3444, Foot, 0.0254},
		{"40ft. 6in.", ParseOptions{}, 12.3444, Foot, 0.0254},
		{"40′6″", ParseOptions{}, 12.3444, Foot, 0.0254},
		{"40’ 6”", ParseOptions{}, 12.3444, Foot, 0.0254},
		{"40'6''", ParseOptions{}, 12.3444, Foot, 0.0254},
		{"40'-6\"", ParseOptions{}, 12.3444, Foot, 0.0254},
		{"40'6", ParseOptions{}, 12.3444, Foot, 0.0254},
		{"40'", ParseOptions{}, 12.192, Foot, 0.3048},
		{"6 in", ParseOptions{}, 0.1524, Foot, 0.0254},
		{"6½\"", ParseOptions{}, 0.1651, Foot, 0.0127},
		{"40' 6 1/2\"", ParseOptions{}, 12.3571, Foot, 0.0127},
		{"40 pies 6 pulgadas", ParseOptions{}, 12.3444, Foot, 0.0254},
		{"40 pieds 6 pouces", ParseOptions{}, 12.3444, Foot, 0.0254},
		{"40 Fuß 6 Zoll", ParseOptions{}, 12.3444, Foot, 0.0254},
		{"40.5", ParseOptions{Unit: Foot}, 12.3444, Foot, 0.03048},
		{"12.4 m", ParseOptions{Unit: Foot}, 12.4, Metre, 0.1},
		// One mark before three digits is settled by the option, by a leading
		// zero, by a second mark, or by too many digits in front.
		{"1,234", ParseOptions{Decimal: ','}, 1.234, Metre, 0.001},
		{"1,234", ParseOptions{Decimal: '.'}, 1234, Metre, 1},
		{"0,234", ParseOptions{}, 0.234, Metre, 0.001},
		{"1234,567", ParseOptions{}, 1234.567, Metre, 0.001},
		{"1,234.5", ParseOptions{}, 1234.5, Metre, 0.1},
		{"1.234,5", ParseOptions{}, 1234.5, Metre, 0.1},
		{"1 234,5", ParseOptions{}, 1234.5, Metre, 0.1},
		{"12,4", ParseOptions{Decimal: '.'}, 12.4, Metre, 0.1},
	}
	for _, test := range tests {
		t.Run(test.text, func(t *testing.T) {
			ls, err := Parse(test.text, test.options)
			if err != nil || len(ls) != 1 {
				t.Fatalf("Parse gave %v, %v; want one length", ls, err)
			}
			l := ls[0]
			if math.Abs(float64(l.Metres-test.metres)) > 1e-9 || l.Unit != test.unit || math.Abs(float64(l.Step-test.step)) > 1e-9 || l.Text != test.text {
				t.Errorf("got %+v, want %v m in %s, step %v", l, test.metres, test.unit, test.step)
			}
		})
	}
}

func TestOneMarkBeforeThreeDigitsIsAmbiguous(t *testing.T) {
	for text, want := range map[string][2]Metres{
		"1,234":      {1.234, 1234},
		"12.345 m":   {12.345, 12345},
		"1.234 ft":   {1.234 * PerFoot, 1234 * PerFoot},
		"12,500 cm":  {0.125, 125},
		"-1,234 m":   {-1.234, -1234},
		"1,000,000m": {},
	} {
		ls, err := Parse(text, ParseOptions{})
		if want == [2]Metres{} {
			if err == nil {
				t.Errorf("%q: got %v, want a fault: no cable is that long", text, ls)
			}
			continue
		}
		if err != nil || len(ls) != 2 {
			t.Errorf("%q: got %v, %v; want two readings", text, ls, err)
			continue
		}
		for i := range want {
			if math.Abs(float64(ls[i].Metres-want[i])) > 1e-9 {
				t.Errorf("%q: reading %d is %v, want %v", text, i, ls[i].Metres, want[i])
			}
		}
	}
}

func TestWhatIsNoLengthIsAFault(t *testing.T) {
	for _, text := range []string{
		"", " ", "at joint", "12-15", "12.4 m 3.1 m", "40'14\"", "40.5'6\"", "12 m 140 cm", "m", "-", "12..4",
		"1,23,456", "1.2E+05", "12.4 l", "12 x", "7/0\"", "9/2 in", "40 ft 3 m", "1 2 3 4", "١٢", "12.4m?", "NaN", "1e400",
	} {
		ls, err := Parse(text, ParseOptions{})
		faults, ok := fault.In(err)
		if !ok || len(faults) != 1 {
			t.Errorf("%q: got %v, %v; want one fault", text, ls, err)
			continue
		}
		if faults[0].Value != text || faults[0].Hint.Empty() {
			t.Errorf("%q: fault %+v should carry the value and a hint", text, faults[0])
		}
	}
}

func TestSpeeds(t *testing.T) {
	for text, want := range map[string]Metres{
		"1.5 m/s": 1.5, "1,5 m/s": 1.5, "5 ft/s": 1.524, "30 m/min": 0.5, "2 m/sec.": 2, "1.5": 1.5,
	} {
		got, err := ParseSpeed(text, ParseOptions{})
		if err != nil || math.Abs(float64(got-want)) > 1e-9 {
			t.Errorf("%q: got %v, %v; want %v", text, got, err, want)
		}
	}
	for _, text := range []string{"", "fast", "0 m/s", "-1 m/s", "1.5 m/week", "1,234 m/s"} {
		if got, err := ParseSpeed(text, ParseOptions{}); err == nil {
			t.Errorf("%q: got %v, want a fault", text, got)
		}
	}
}

func TestFormat(t *testing.T) {
	tests := []struct {
		metres  Metres
		unit    Unit
		decimal rune
		want    string
	}{
		{12.4, Metre, '.', "12.4 m"},
		{12.4, Metre, ',', "12,4 m"},
		{12.36, "", 0, "12.4 m"},
		{12.3444, Foot, '.', "40.5 ft"},
		{-0.04, Metre, '.', "0.0 m"},
		{-0.3, Metre, ',', "-0,3 m"},
		{0.25, Metre, '.', "0.3 m"},
	}
	for _, test := range tests {
		if got := test.metres.Format(test.unit, test.decimal); got != test.want {
			t.Errorf("%v: got %q, want %q", test.metres, got, test.want)
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"12.4 m", "40'6\"", "1,234", "6½\"", "12 m 40", "at joint", "1 234,5 ft", "'", "\"", "1/2", "-"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, o := range []ParseOptions{{}, {Unit: Foot, Decimal: ','}, {Decimal: '.'}} {
			if speed, err := ParseSpeed(s, o); err == nil && !(speed > 0) {
				t.Fatalf("%q is %v m/s", s, speed)
			}
			ls, err := Parse(s, o)
			if (err == nil) != (len(ls) > 0) {
				t.Fatalf("%q: %v and %v", s, ls, err)
			}
			if o.Decimal != 0 && len(ls) > 1 {
				t.Fatalf("%q: %v although the decimal mark is known", s, ls)
			}
			for _, l := range ls {
				m := float64(l.Metres)
				if math.IsNaN(m) || math.Abs(m) > float64(longest) || !(l.Step > 0) || l.Text != s || l.Unit == "" {
					t.Fatalf("%q: %+v", s, l)
				}
				again := strings.Replace(l.Metres.Format(l.Unit, '.'), "-", "−", 1)
				if back, err := Parse(again, ParseOptions{Decimal: '.'}); err != nil || len(back) != 1 || (back[0].Metres-l.Metres).Abs() > 0.0501 {
					t.Fatalf("%q shown as %q reads back as %v, %v", s, again, back, err)
				}
			}
		}
	})
}
