package counter_test

import (
	"context"
	"fmt"
	"image"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"golang.org/x/image/font/gofont/gomono"

	"pushcue/frames/counter"
	"pushcue/internal/soak"
	"pushcue/timeline/distance"
)

// number is what a text shows, without its unit and its name.
func number(text string) (float64, bool) {
	v, err := strconv.ParseFloat(strings.Replace(strings.TrimLeft(strings.TrimRight(text, " mftMTRX'"), "D:FT"), ",", ".", 1), 64)
	return v, err == nil
}

// tally counts samples that are right, wrong and not claimed.
func tally(f *film, line *counter.Line) (right, wrong, none int, first string) {
	for i, s := range line.Samples {
		want, shown := number(f.texts[i])
		switch {
		case s.State != counter.AsShown && s.State != counter.Filled:
			if shown {
				none++
			}
		case shown && math.Abs(want-s.Value) < 1e-9:
			right++
		default:
			wrong++
			if first == "" {
				first = fmt.Sprintf("%q read for %q at %s", s.Text, f.texts[i], s.At)
			}
		}
	}
	return right, wrong, none, first
}

// few is how many strips show digits enough to learn them from; a soak reads more.
const few = 120

func TestCounterIsReadInEveryLook(t *testing.T) {
	strips := soak.Count(few, 200)
	feet := push(0, strips)
	for i := range feet {
		feet[i] /= 0.3048
	}
	steps, held := push(0, strips), push(0, strips)
	for i := range steps {
		steps[i] = math.Round(steps[i]*20) / 20
		held[i] = held[i/filmRate*filmRate] // a display that is refreshed once a second
	}
	const m, ft = distance.Metre, distance.Foot
	for name, c := range map[string]struct {
		look     string
		texts    []string
		decimals int
		unit     distance.Unit // "" where it isn't plain, as with letters as wide as digits
		least    float64       // of the samples that must be right
		soak     bool          // one that only a soak reads, since others show each part of it
	}{
		"metres, padded":           {"outlined", written("%05.1fm", push(0, strips)), 1, m, 0.98, true},
		"sliding past 10, no unit": {"outlined", written("%.1f", push(6, strips)), 1, "", 0.98, false},
		"centimetres in a box":     {"boxed", written("%06.2f m", push(0, strips)), 2, m, 0.98, false},
		"feet":                     {"outlined", written("%05.1fft", feet), 1, ft, 0.98, false},
		"below zero at first":      {"outlined", written("%.1fm", push(-2.5, strips)), 1, m, 0.97, false},
		"whole numbers":            {"boxed", written("%03.0fm", push(0, 450)), 0, m, 0.98, true},
		"whole feet, mono":         {"mono", written("%03.0fft", times(feet, 3)), 0, ft, 0.98, false},
		"comma":                    {"outlined", commas(written("%.2f m", push(0, 200))), 2, m, 0.98, false},
		"slanting":                 {"slanting", written("%05.1f m", push(0, 200)), 1, m, 0.98, false},
		"no outline, noise":        {"bare, on noise", written("%04.1fm", push(0, strips)), 1, m, 0.85, true},
		"comma, 5 cm, D:":          {"outlined", commas(written("D:%.2fm", steps)), 2, m, 0.98, false},
		"refreshed each second":    {"boxed", written("%05.1fM", held), 1, m, 0.98, false},
		"feet's mark":              {"outlined", written("%05.1f'", feet), 1, ft, 0.98, true},
		"unit ahead":               {"boxed", written("FT:%05.1f", feet), 1, ft, 0.98, true},
		"dark, another letter":     {"dark", written("%04.1fX", push(0, strips)), 1, "", 0.85, false},
	} {
		if c.soak && !soak.On() {
			continue
		}
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			f := newFilm(t, looks[c.look], c.texts)
			line, err := counter.Read(context.Background(), f, counter.Options{})
			if err != nil {
				t.Fatal(err)
			}
			if line.Kind != counter.Length || line.Decimals != c.decimals {
				t.Fatalf("taken for %s (%s) with %d decimals", line.Kind, line.Why, line.Decimals)
			}
			if line.Unit != c.unit {
				t.Errorf("unit %q, want %q", line.Unit, c.unit)
			}
			right, wrong, none, first := tally(f, line)
			if wrong > 0 || float64(right) < c.least*float64(right+none) {
				t.Errorf("%d right, %d wrong, %d not read; %s", right, wrong, none, first)
			}
		})
	}
}

// TestOtherNumbersAreNoCounter: what is no cable's length is told by what stands behind it;
// a depth in metres by how it goes, which only a person can be sure of.
func TestOtherNumbersAreNoCounter(t *testing.T) {
	around := func(middle, by float64) (all []float64) {
		for i := range few {
			all = append(all, middle+by*math.Sin(float64(i)/3)+by/2*math.Sin(float64(i)/1.7))
		}
		return all
	}
	for name, c := range map[string]struct {
		texts []string
		doubt bool // in place of a plain no
	}{
		"slope":       {written("%.1f%%", around(-1, 1)), false},
		"temperature": {written("%.1f °C", around(14, 1)), false},
		"depth":       {written("%.2fm", around(1.2, 0.2)), true},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			line, err := counter.Read(context.Background(), newFilm(t, looks["outlined"], c.texts), counter.Options{})
			if err != nil {
				t.Fatal(err)
			}
			if counter.Choose([]*counter.Line{line}) != nil {
				t.Errorf("taken for the counter: %s", line.Why)
			}
			if doubt := line.Kind == counter.Length && !line.Doubt.Empty(); doubt != c.doubt {
				t.Errorf("%s (%s), doubt: %q", line.Kind, line.Why, line.Doubt)
			}
		})
	}
}

func times(values []float64, by float64) (all []float64) {
	for _, v := range values {
		all = append(all, by*v)
	}
	return all
}

func commas(texts []string) []string {
	for i := range texts {
		texts[i] = strings.Replace(texts[i], ".", ",", 1)
	}
	return texts
}

func TestHiddenCounterIsNotReadOn(t *testing.T) {
	texts := written("%05.1fm", push(0, few))
	for i := 60; i < 84; i++ {
		texts[i] = ""
	}
	f := newFilm(t, looks["outlined"], texts)
	line, err := counter.Read(context.Background(), f, counter.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if line.Kind != counter.Length || line.Unit != distance.Metre {
		t.Errorf("taken for %s (%s), unit %q", line.Kind, line.Why, line.Unit)
	}
	if right, wrong, _, first := tally(f, line); wrong > 0 || right < 90 {
		t.Errorf("%d right, %d wrong; %s", right, wrong, first)
	}
}

func TestTimesAreNoCounter(t *testing.T) {
	clock := func(write func(i int) string) (texts []string) {
		for i := range soak.Count(few, 200) {
			texts = append(texts, write(i))
		}
		return texts
	}
	for name, texts := range map[string][]string{ // each outlined or in a box
		"time of day":          clock(func(i int) string { s := 41 + i/filmRate; return fmt.Sprintf("11:%02d:%02d", 58+s/60, s%60) }),
		"seconds alone":        clock(func(i int) string { return fmt.Sprintf("%02d", (41+i/filmRate)%60) }),
		"minutes with a point": clock(func(i int) string { s := 41 + i/filmRate; return fmt.Sprintf("%02d.%02d", s/60, s%60) }),
		"tenths of a second":   clock(func(i int) string { return fmt.Sprintf("%05.1f", float64(i)/filmRate) }),
		"seconds counted":      clock(func(i int) string { return fmt.Sprintf("%04d", i/filmRate) }),
	} {
		// What tells the others is tried in TestClockIsReadAsItIsWritten and reason by reason.
		if short := []string{"seconds alone", "tenths of a second"}; !soak.On() && !slices.Contains(short, name) {
			continue
		}
		for _, l := range []string{"outlined", "boxed"}[len(name)%2:][:1] {
			t.Run(name+", "+l, func(t *testing.T) {
				t.Parallel()
				line, err := counter.Read(context.Background(), newFilm(t, looks[l], texts), counter.Options{})
				if err != nil {
					t.Fatal(err)
				}
				if line.Kind == counter.Length || counter.Choose([]*counter.Line{line}) != nil {
					t.Errorf("taken for a counter: %s", line.Why)
				}
			})
		}
	}
}

func TestClockIsReadAsItIsWritten(t *testing.T) {
	var texts []string
	from := time.Date(2026, 3, 9, 11, 58, 41, 0, time.UTC)
	for i := range few {
		texts = append(texts, from.Add(time.Duration(i)*time.Second/filmRate).Format("15:04:05"))
	}
	f := newFilm(t, look{ttf: gomono.TTF, size: 23, outline: true, luma: 230, bright: 110}, texts)
	line, err := counter.Read(context.Background(), f, counter.Options{})
	if err != nil {
		t.Fatal(err)
	}
	right := 0
	for i, s := range line.Samples {
		switch s.Text {
		case texts[i]:
			right++
		case "":
		default:
			t.Errorf("%q read for %q", s.Text, texts[i])
		}
	}
	if line.Kind != counter.Time || right < few*9/10 {
		t.Errorf("%s (%s), %d of %d read", line.Kind, line.Why, right, len(texts))
	}
}

func TestWhatNeverChangesOrIsntThereIsNoCounter(t *testing.T) {
	for name, text := range map[string]string{"job text": "2291-B", "a number": "012.4m", "nothing": ""} {
		texts := slices.Repeat([]string{text}, few/3)
		line, err := counter.Read(context.Background(), newFilm(t, looks["outlined"], texts), counter.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if line.Kind == counter.Length {
			t.Errorf("%s taken for a counter: %s", name, line.Why)
		}
	}
}

func TestSurveyFindsWhereSomethingIsWritten(t *testing.T) {
	size := image.Pt(320, 240)
	survey, bare := counter.NewSurvey(size), counter.NewSurvey(size)
	f := newFilm(t, looks["outlined"], written("%05.1fm", push(0, 60)))
	strip := image.NewGray(image.Rect(0, 0, filmWide, filmTall))
	for i := range f.Len() {
		picture := image.NewGray(image.Rectangle{Max: size})
		for k := range picture.Pix {
			x, y := k%size.X, k/size.X
			picture.Pix[k] = uint8(110 + 40*math.Sin(float64(x)/9+float64(i)) + 30*math.Cos(float64(y)/13-float64(2*i)))
		}
		bare.Add(picture)
		if err := f.Read(i, strip); err != nil {
			t.Fatal(err)
		}
		for y := range filmTall {
			copy(picture.Pix[(180+y)*size.X+60:], strip.Pix[y*filmWide:y*filmWide+filmWide])
		}
		survey.Add(picture)
	}
	written := image.Rect(60+16, 180+8, 60+16+70, 180+26)
	regions := survey.Regions()
	if len(regions) != 1 || !written.In(regions[0]) || regions[0].Dx()*regions[0].Dy() > 6*written.Dx()*written.Dy() {
		t.Errorf("found %v for %v", regions, written)
	}
	if regions := bare.Regions(); len(regions) > 0 {
		t.Errorf("found %v where nothing is written", regions)
	}
}

func TestReadingStopsWhenAskedTo(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	f := newFilm(t, looks["outlined"], written("%05.1fm", push(0, 20)))
	if _, err := counter.Read(ctx, f, counter.Options{}); err == nil {
		t.Error("it went on")
	}
}

// Whatever pictures hold, reading ends with a line and never with a panic.
func FuzzRead(f *testing.F) {
	f.Add([]byte{0, 255, 30}, uint8(20), uint8(9))
	f.Add([]byte("0123456789"), uint8(60), uint8(30))
	f.Fuzz(func(t *testing.T, pix []byte, wide, tall uint8) {
		if len(pix) == 0 || wide < 4 || tall < 4 || wide > 80 || tall > 60 {
			return
		}
		s := &scribble{pix, image.Rect(0, 0, int(wide), int(tall))}
		if _, err := counter.Read(context.Background(), s, counter.Options{}); err != nil {
			t.Error(err)
		}
	})
}
