package timecode

import (
	"fmt"
	"strings"
	"testing"
	"time"
)

// show writes readings so that a table row can hold them: form, date, time, offset
// and resolution, several joined by " | ".
func show(ws []Written) string {
	var all []string
	for _, w := range ws {
		var b strings.Builder
		switch w.Form {
		case Elapsed:
			b.WriteString("elapsed ")
		case DateTime:
			fmt.Fprintf(&b, "%v ", Date{w.Year, w.Month, w.Day})
		}
		fmt.Fprintf(&b, "%v", w.Since)
		if w.Offset != nil {
			fmt.Fprintf(&b, " %+d", *w.Offset)
		}
		fmt.Fprintf(&b, " ~%v", w.Resolution)
		all = append(all, b.String())
	}
	return strings.Join(all, " | ")
}

func TestTimesAsPeopleWriteThem(t *testing.T) {
	for _, c := range []struct {
		written string
		order   DateOrder
		want    string
	}{
		{"10:07", "", "10h7m0s ~1m0s"},
		{" 10:07\u00a0", "", "10h7m0s ~1m0s"},
		{"9:05", "", "9h5m0s ~1m0s"},
		{"10:07:31", "", "10h7m31s ~1s"},
		{"10:07:31.5", "", "10h7m31.5s ~100ms"},
		{"10:07:31,25", "", "10h7m31.25s ~10ms"},
		{"10:07:31:250", "", ""},
		{"10.07", "", "10h7m0s ~1m0s"},
		{"10.07 Uhr", "", "10h7m0s ~1m0s"},
		{"10.07.31", "", "10h7m31s ~1s"},
		{"10.07.31,5", "", "10h7m31.5s ~100ms"},
		{"10h07", "", "10h7m0s ~1m0s"},
		{"10 h 07", "", "10h7m0s ~1m0s"},
		{"10h", "", "10h0m0s ~1h0m0s"},
		{"10h07min31s", "", "10h7m31s ~1s"},
		{"10:07 h", "", "10h7m0s ~1m0s"},
		{"um 10 Uhr", "", "10h0m0s ~1h0m0s"},
		{"a las 10:07", "", "10h7m0s ~1m0s"},
		{"0930", "", "9h30m0s ~1m0s"},
		{"1007 hrs", "", "10h7m0s ~1m0s"},
		{"1007", "", "10h7m0s ~1m0s | elapsed 16m47s ~1s"},
		{"3:15 pm", "", "15h15m0s ~1m0s"},
		{"3:15PM", "", "15h15m0s ~1m0s"},
		{"3:15:09\u202fp.m.", "", "15h15m9s ~1s"},
		{"3:15 p. m.", "", "15h15m0s ~1m0s"},
		{"3 pm", "", "15h0m0s ~1h0m0s"},
		{"12:30 am", "", "30m0s ~1m0s"},
		{"12:30 pm", "", "12h30m0s ~1m0s"},
		{"15:15 pm", "", "15h15m0s ~1m0s"},
		{"0:00", "", "0s ~1m0s"},
		{"24:00", "", "24h0m0s ~1m0s"},
		{"3:15 nachmittags", "", "15h15m0s ~1m0s"},
		{"um 9.30 Uhr vorm.", "", "9h30m0s ~1m0s"},
		{"3:15 de la tarde", "", "15h15m0s ~1m0s"},
		{"à 9h05 du matin", "", "9h5m0s ~1m0s"},
		{"9:05 du matin", "", "9h5m0s ~1m0s"},
		{"12 de la mañana", "", ""},
		{"12:30 nachmittags", "", ""},
		{"10:07Z", "", "10h7m0s +0 ~1m0s"},
		{"10:07+01:00", "", "10h7m0s +3600 ~1m0s"},
		{"3:15 pm EST", "", "15h15m0s -18000 ~1m0s"},
		{"10:07 MESZ", "", "10h7m0s +7200 ~1m0s"},

		{"2026-03-02 10:07:31", "", "2026-03-02 10h7m31s ~1s"},
		{"2026-03-02T10:07:31.5Z", "", "2026-03-02 10h7m31.5s +0 ~100ms"},
		{"2026-03-02T10:07:31-05:00", "", "2026-03-02 10h7m31s -18000 ~1s"},
		{"2026-03-02 10:07 UTC+2", "", "2026-03-02 10h7m0s +7200 ~1m0s"},
		{"20260302T100731", "", "2026-03-02 10h7m31s ~1s"},
		{"20260302T1007+0100", "", "2026-03-02 10h7m0s +3600 ~1m0s"},
		{"2026/03/02 10:07", "mdy", "2026-03-02 10h7m0s ~1m0s"},
		{"25/03/2026 10:07", "", "2026-03-25 10h7m0s ~1m0s"},
		{"03/25/2026 10:07", "", "2026-03-25 10h7m0s ~1m0s"},
		{"03/03/2026 10:07", "", "2026-03-03 10h7m0s ~1m0s"},
		{"01/02/2026 10:07", "", "2026-02-01 10h7m0s ~1m0s | 2026-01-02 10h7m0s ~1m0s"},
		{"01/02/2026 10:07", "dmy", "2026-02-01 10h7m0s ~1m0s"},
		{"01/02/2026 10:07", "mdy", "2026-01-02 10h7m0s ~1m0s"},
		{"01/02/26, 3:15 pm", "mdy", "2026-01-02 15h15m0s ~1m0s"},
		{"26/03/02 10:07", "ymd", "2026-03-02 10h7m0s ~1m0s"},
		{"02.03.2026 10:07", "", "2026-03-02 10h7m0s ~1m0s"},
		{"2.3.26 10.07", "", "2026-03-02 10h7m0s ~1m0s"},
		{"2-3-2026 10:07", "dmy", "2026-03-02 10h7m0s ~1m0s"},
		{"10:07 02/03/2026", "dmy", "2026-03-02 10h7m0s ~1m0s"},
		{"10:07 02-03-2026", "dmy", "2026-03-02 10h7m0s ~1m0s"},
		{"10:07 2026-03-02", "", "2026-03-02 10h7m0s ~1m0s"},
		{"2 Mar 2026 10:07", "", "2026-03-02 10h7m0s ~1m0s"},
		{"2-Mar-26 10:07", "", "2026-03-02 10h7m0s ~1m0s"},
		{"Mon, 2 Mar 2026 10:07:31 +0100", "", "2026-03-02 10h7m31s +3600 ~1s"},
		{"March 2nd, 2026 3:15 pm", "", "2026-03-02 15h15m0s ~1m0s"},
		{"2. März 2026, 10.07 Uhr", "", "2026-03-02 10h7m0s ~1m0s"},
		{"2 de marzo de 2026 10:07", "", "2026-03-02 10h7m0s ~1m0s"},
		{"1er février 2026 10h07", "", "2026-02-01 10h7m0s ~1m0s"},
		{"2nd of March 2026 10:07", "", "2026-03-02 10h7m0s ~1m0s"},
		{"2 de marzo del 2026 a las 3:15 de la tarde", "", "2026-03-02 15h15m0s ~1m0s"},
		{"2xx March 2026 10:07", "", ""},
		{"29/02/2024 10:07", "", "2024-02-29 10h7m0s ~1m0s"},

		{"25:10:00", "", "elapsed 25h10m0s ~1s"},
		{"5:14.2", "", "elapsed 5m14.2s ~100ms"},
		{"10:07.31", "", "10h7m31s ~1s | elapsed 10m7.31s ~10ms"},
		{"5m14s", "", "elapsed 5m14s ~1s"},
		{"5 min 14 s", "", "elapsed 5m14s ~1s"},
		{"1 Stunde 5 Minuten 14 Sekunden", "", "elapsed 1h5m14s ~1s"},
		{"3 minutos 5 segundos", "", "elapsed 3m5s ~1s"},
		{"4 minutes 5 secondes", "", "elapsed 4m5s ~1s"},
		{"+0:05:14", "", "elapsed 5m14s ~1s"},
		{"T+5:14", "", "elapsed 5m14s ~1s"},
	} {
		ws, err := ParseClock(c.written, c.order)
		if c.want == "" {
			if err == nil {
				t.Errorf("%q: read as %s, want a refusal", c.written, show(ws))
			}
			continue
		}
		if err != nil {
			t.Errorf("%q: %v", c.written, err)
		} else if got := show(ws); got != c.want {
			t.Errorf("%q (%s): %s, want %s", c.written, c.order, got, c.want)
		}
	}
}

func TestImpossibleTimesAreRefusedInOneSentence(t *testing.T) {
	for written, want := range map[string]string{
		"25:61":                     "minutes go from 00 to 59",
		"25:10":                     "hours go from 0 to 23",
		"10:60":                     "minutes go from 00 to 59",
		"10:07:60":                  "seconds go from 00 to 59",
		"24:00:01 h":                "hours go from 0 to 23",
		"13:15 am":                  "13 o'clock isn't in that half of the day",
		"0:15 pm":                   "0 o'clock isn't in that half of the day",
		"30/02/2026 10:07":          "has no day 30",
		"29/02/2026 10:07":          "has no day 29",
		"2026-13-02 10:07":          "13 is no month",
		"2 Foo 2026 10:07":          `"foo" is no month`,
		"1492-03-02 10:07":          "the year 1492",
		"2026-03-02":                "a date without a time of day",
		"2 Mar 2026":                "a date without a time of day",
		"2026-03-02 25:10:00":       "hours go from 0 to 23",
		"10:07 BST":                 "write the offset",
		"10:07+25:00":               "offset",
		"00:05:14:12":               "timecode",
		"314.2":                     "bare number",
		"9999":                      "bare number",
		"":                          "nothing is written",
		"soon":                      "write it as 10:07",
		"10:07:31 and so on":        "not a time",
		"9:5":                       "is it 9:05 or 9:50?",
		strings.Repeat("1", 10_000): "far too long",
	} {
		ws, err := ParseClock(written, "")
		if err == nil {
			t.Errorf("%q: read as %s", written, show(ws))
			continue
		}
		if !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want a word on %q", written, err, want)
		}
		if strings.ContainsAny(err.Error(), "\n") || strings.HasSuffix(err.Error(), ".") {
			t.Errorf("%q: not one plain sentence: %q", written, err)
		}
	}
}

func TestOrderThatADateContradictsIsAFault(t *testing.T) {
	for order, written := range map[DateOrder]string{DMY: "03/25/2026 10:07", MDY: "25/03/2026 10:07"} {
		if ws, err := ParseClock(written, order); err == nil {
			t.Errorf("%q read %s as %s", written, order, show(ws))
		}
	}
}

// The instants are those that RFC 3339 text names, read by the standard library.
func TestTimesAgreeWithRFC3339(t *testing.T) {
	for _, text := range []string{
		"2026-03-02T10:07:31Z", "1985-04-12T23:20:50.52Z", "1996-12-19T16:39:57-08:00", // the last two: RFC 3339 section 5.8
		"1937-01-01T12:00:27.87+00:20", "2026-10-25T01:30:00+01:00",
	} {
		want, err := time.Parse(time.RFC3339Nano, text)
		if err != nil {
			t.Fatal(err)
		}
		ws, err := ParseClock(text, "")
		if err != nil || len(ws) != 1 {
			t.Fatalf("%s: %v %v", text, ws, err)
		}
		got := ws[0].Instants(Date{}, nil)
		if len(got) != 1 || !got[0].Equal(want) {
			t.Errorf("%s: %v, want %v", text, got, want)
		}
	}
}

func TestElapsedTimes(t *testing.T) {
	for written, want := range map[string]string{
		"0:05:14": "elapsed 5m14s ~1s",
		"5:14":    "elapsed 5m14s ~1s",
		"61:02":   "elapsed 1h1m2s ~1s",
		"314.2":   "elapsed 5m14.2s ~100ms",
		"1h05":    "elapsed 1h5m0s ~1m0s",
	} {
		w, err := ParseElapsed(written)
		if got := show([]Written{w}); err != nil || got != want {
			t.Errorf("%q: %s %v, want %s", written, got, err, want)
		}
	}
}

func TestMiddleOfAWrittenTime(t *testing.T) {
	ws, err := ParseClock("10:07", "")
	if err != nil {
		t.Fatal(err)
	}
	if got, want := ws[0].Middle(), 10*time.Hour+7*time.Minute+30*time.Second; got != want {
		t.Errorf("10:07 is taken at %v, want %v", got, want)
	}
}

func FuzzParseClock(f *testing.F) {
	for _, s := range []string{"10:07", "2026-03-02T10:07:31.5+01:00", "3:15 p.m.", "2. März 2026, 10.07 Uhr", "10:07 02-03-2026", "25:10:00", "1er février 2026 10h07"} {
		f.Add(s, "dmy")
		f.Add(s, "")
	}
	f.Fuzz(func(t *testing.T, s, order string) {
		ws, err := ParseClock(s, DateOrder(order))
		if (err == nil) == (len(ws) == 0) {
			t.Fatalf("%q: %d readings with error %v", s, len(ws), err)
		}
		for _, w := range ws {
			if w.Since < 0 || w.Since > century || w.Resolution <= 0 {
				t.Fatalf("%q: %+v", s, w)
			}
			if w.Form != Elapsed && w.Since > 24*time.Hour {
				t.Fatalf("%q: %v after midnight", s, w.Since)
			}
			if w.Form == DateTime && len(w.Instants(Date{}, time.UTC)) != 1 {
				t.Fatalf("%q: no instant in %+v", s, w)
			}
		}
	})
}
