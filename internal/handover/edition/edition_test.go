package edition

import (
	"strings"
	"testing"
	"time"
)

func day(n int) time.Time { return time.Date(2026, 3, n, 18, 0, 0, 0, time.UTC) }

func made(e Edition) Line { return Line{What: Made, Edition: e, List: "list of " + e.Identity} }
func left(e Edition, n int) Line {
	return Line{What: Left, Edition: e, List: "list of " + e.Identity, At: day(n), To: "/media/stick/2291-b"}
}

// written puts lines through their text.
func written(t *testing.T, lines ...Line) *Book {
	t.Helper()
	var text []byte
	for _, l := range lines {
		one, err := l.Text()
		if err != nil {
			t.Fatal(err)
		}
		text = append(text, one...)
	}
	b := Read(text)
	if len(b.Lines) != len(lines) {
		t.Fatalf("%d of %d lines came back:\n%s", len(b.Lines), len(lines), text)
	}
	return b
}

func TestTheNumberRisesOnlyWhenSomethingElseFollowsWhatLeft(t *testing.T) {
	one := Edition{Number: 1, Identity: "aa", Day: "2026-03-02"}
	two := Edition{Number: 2, Identity: "bb", Day: "2026-03-07", Replaces: 1, Left: "2026-03-05"}
	for name, c := range map[string]struct {
		book     []Line
		identity string
		want     Edition
	}{
		"the first":                             {nil, "aa", one},
		"changed, and nobody had it":            {[]Line{made(Edition{Number: 1, Identity: "ff"})}, "aa", one},
		"the same again, after it left":         {[]Line{made(one), left(one, 5)}, "aa", one},
		"another one, after it left":            {[]Line{made(one), left(one, 5)}, "bb", Edition{Number: 2, Identity: "bb", Day: "2026-03-09", Replaces: 1, Left: "2026-03-05"}},
		"that one again, on a later day":        {[]Line{made(one), left(one, 5), made(two)}, "bb", two},
		"changed once more before it left":      {[]Line{made(one), left(one, 5), made(two)}, "cc", Edition{Number: 2, Identity: "cc", Day: "2026-03-09", Replaces: 1, Left: "2026-03-05"}},
		"the first left twice":                  {[]Line{left(one, 5), left(one, 6)}, "bb", Edition{Number: 2, Identity: "bb", Day: "2026-03-09", Replaces: 1, Left: "2026-03-05"}},
		"the second left too":                   {[]Line{left(one, 5), left(two, 8)}, "cc", Edition{Number: 3, Identity: "cc", Day: "2026-03-09", Replaces: 2, Left: "2026-03-08"}},
		"back to what the first was":            {[]Line{left(one, 5), left(two, 8)}, "aa", Edition{Number: 3, Identity: "aa", Day: "2026-03-09", Replaces: 2, Left: "2026-03-08"}},
		"the first left again after the second": {[]Line{left(one, 5), left(two, 8), left(one, 9)}, "bb", two},
		"an earlier version's left":             {[]Line{left(Edition{Number: 1}, 5)}, "aa", Edition{Number: 2, Identity: "aa", Day: "2026-03-09", Replaces: 1, Left: "2026-03-05"}},
		"it left on a day that nobody knows":    {[]Line{{What: Left, Edition: one}}, "bb", Edition{Number: 2, Identity: "bb", Day: "2026-03-09", Replaces: 1}},
	} {
		if got := written(t, c.book...).Next(c.identity, "2026-03-02", "2026-03-09"); got != c.want {
			t.Errorf("%s: %+v, want %+v", name, got, c.want)
		}
	}
}

func TestWhatIsNoLineOfOursIsPassedOver(t *testing.T) {
	good, _ := left(Edition{Number: 3, Identity: "aa", Replaces: 2}, 5).Text()
	for name, text := range map[string]string{
		"nothing":                  "",
		"a line that was cut off":  string(good[:len(good)-9]),
		"a later version":          strings.Replace(string(good), `"v":1`, `"v":2`, 1),
		"another kind":             strings.Replace(string(good), `"left"`, `"lost"`, 1),
		"no number":                strings.Replace(string(good), `"edition":3`, `"edition":0`, 1),
		"a number beyond counting": strings.Replace(string(good), `"edition":3`, `"edition":30000`, 1),
		"it replaces itself":       strings.Replace(string(good), `"replaces":2`, `"replaces":3`, 1),
		"an identity that is text": strings.Replace(string(good), `"aa"`, `"<b>"`, 1),
		"a list":                   "[1]\n",
	} {
		if b := Read([]byte(text)); len(b.Lines) != 0 {
			t.Errorf("%s: %+v", name, b.Lines)
		}
		if b := Read([]byte(text + "\n" + string(good))); len(b.Lines) != 1 {
			t.Errorf("%s hides the line behind it", name)
		}
	}
}

func TestAnEditionIsKnownByItsListAndByItsPage(t *testing.T) {
	two := Edition{Number: 2, Identity: "bb", Day: "2026-03-07", Replaces: 1, Left: "2026-03-05"}
	b := written(t, made(two), left(two, 8))
	if e, ok := b.Of("list of bb"); !ok || e != two {
		t.Errorf("%+v", e)
	}
	if _, ok := b.Of("list of cc"); ok {
		t.Error("an unknown list is known")
	}
	for _, e := range []Edition{two, {Number: 1}, {Number: 1, Identity: "aa", Day: "2026-03-02"}} {
		if got, ok := InPage([]byte(`<head><meta name="edition" content="` + e.Mark() + `"></head>`)); !ok || got != e {
			t.Errorf("%q came back as %+v", e.Mark(), got)
		}
	}
	for _, page := range []string{"", "<html>", `<meta name="edition" content="0 - 0 - -">`, `<meta name="edition" content="1 2026-99-99 0 - -">`, `<meta name="edition" content="1 - 4 - -">`} {
		if e, ok := InPage([]byte(page)); ok {
			t.Errorf("%q: %+v", page, e)
		}
	}
}

func TestADriveIsNamedOnceForEachEdition(t *testing.T) {
	one, two := Edition{Number: 1, Identity: "aa"}, Edition{Number: 2, Identity: "bb", Replaces: 1}
	b := written(t, made(one), left(one, 5), left(one, 6), made(two), left(two, 8))
	if all := b.Gone(); len(all) != 2 || !all[0].At.Equal(day(6)) || all[1].Number != 2 {
		t.Errorf("%+v", all)
	}
}

func FuzzRead(f *testing.F) {
	good, _ := left(Edition{Number: 3, Identity: "aa", Replaces: 2}, 5).Text()
	f.Add(good)
	f.Fuzz(func(t *testing.T, text []byte) {
		if e := Read(text).Next("aa", "", "2026-03-09"); e.Number < 1 || e.Replaces >= e.Number {
			t.Errorf("%+v", e)
		}
	})
}
