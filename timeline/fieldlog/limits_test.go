package fieldlog

import (
	"bytes"
	"context"
	"errors"
	"io"
	"math/rand/v2"
	"runtime"
	"strings"
	"testing"
	"time"

	"pushcue/timeline/fault"
)

// endless gives text over and over, up to size bytes, and counts what was taken.
type endless struct {
	text  string
	size  int
	taken int
}

func (e *endless) Read(p []byte) (int, error) {
	if e.taken >= e.size {
		return 0, io.EOF
	}
	n := copy(p, e.text[e.taken%len(e.text):])
	for n < len(p) && n < len(e.text) {
		n += copy(p[n:], e.text)
	}
	for n < len(p) { // a whole text stands there already
		n += copy(p[n:], p[n-n/len(e.text)*len(e.text):n])
	}
	e.taken += n
	return n, nil
}

func TestFilesThatAreNoLogAreRefusedEarly(t *testing.T) {
	noise := make([]byte, 100_000)
	random := rand.New(rand.NewPCG(1, 2))
	for i := range noise {
		noise[i] = byte(random.Uint32())
	}
	const gigabyte = 1 << 30
	tests := []struct {
		name   string
		r      io.Reader
		most   int // bytes taken before it is refused; 0: don't look
		reason string
	}{
		{"1 GB without a separator", &endless{text: "x", size: gigabyte}, 2 << 20, "a line longer than any log's"},
		{"1 GB in one line of cells", &endless{text: "10:07,12.4,", size: gigabyte}, 9 << 20, "a line longer than any log's"},
		{"1 GB of rows", io.MultiReader(strings.NewReader("time,distance\n"), &endless{text: "10:07,12.4\n", size: gigabyte}), 0, "larger than 64 MiB"},
		{"1 GB in one quoted cell of many lines", io.MultiReader(strings.NewReader("time,distance\n\""), &endless{text: "10:07\n", size: gigabyte}), 0, "larger than 64 MiB"},
		{"too many rows", io.MultiReader(strings.NewReader("video,distance\n"), io.LimitReader(&endless{text: "10,12\n", size: gigabyte}, 6*1_000_100)), 0, "more than 1000000 rows"},
		{"a cell too long", strings.NewReader("time,note\n10:07,\"" + strings.Repeat("word\n", 250_000) + "\""), 0, "a cell longer than 1024 KiB"},
		{"too many columns", strings.NewReader("time,distance" + strings.Repeat(",x", 2000)), 0, "more than 1024 columns"},
		{"noise", bytes.NewReader(noise), 0, "holds bytes that no text has"},
		{"an MP4 named .csv", strings.NewReader("\x00\x00\x00\x20ftypisom\x00\x00\x02\x00isomiso2avc1mp41"), 0, "holds bytes that no text has"},
		{"a zero in the text", strings.NewReader("time,distance\n10:07,12.4\x00\n"), 0, "holds bytes that no text has"},
		{"an old spreadsheet", strings.NewReader("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1xxxxxxxx"), 0, "an old or locked spreadsheet"},
		{"a PDF", strings.NewReader("%PDF-1.7\n"), 0, "is a PDF"},
		{"another archive", strings.NewReader("PK\x03\x04 and no more"), 0, "a damaged sheet or archive"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			_, err := Read(context.Background(), tt.r, Options{File: "log.csv"})
			runtime.ReadMemStats(&after)
			l, ok := fault.In(err)
			if !ok || len(l) != 1 || !strings.Contains(l[0].Error(), tt.reason) || strings.Contains(l[0].Error(), "\n") {
				t.Fatalf("%v, want %q", err, tt.reason)
			}
			if e, ok := tt.r.(*endless); ok && e.taken > tt.most {
				t.Errorf("took %d bytes to say so", e.taken)
			}
			if taken := (after.TotalAlloc - before.TotalAlloc) >> 20; taken > 600 {
				t.Errorf("took %d MiB of memory", taken)
			}
		})
	}
}

func TestACellOfNearlyAMebibyteIsRead(t *testing.T) {
	note := strings.Repeat("word ", 200_000)
	if log := mustRead(t, "distance,note\n1.5,"+note, lisbon(t)); log.Rows[0].Note != strings.TrimSpace(note) {
		t.Error("not as written")
	}
}

func TestAnUnknownCharsetIsNamed(t *testing.T) {
	l := stopped(t, "distance\n1", Options{File: "log.csv", Charset: "klingon-8"})
	if len(l) != 1 || !strings.Contains(l[0].Error(), `"klingon-8"`) {
		t.Errorf("%v", l)
	}
}

func TestAGuessedCharsetIsTold(t *testing.T) {
	if log := mustRead(t, "distance,note\n1,caf\xe9", lisbon(t)); len(log.Notes) != 1 || log.Rows[0].Note != "café" || !strings.Contains(log.Notes[0].String(), `charset = "…"`) {
		t.Errorf("%q", log.Notes)
	}
	if log := mustRead(t, "distance,note\n1,café", lisbon(t)); len(log.Notes) != 0 {
		t.Errorf("%q", log.Notes)
	}
}

func TestOddButReadable(t *testing.T) {
	tests := []struct {
		name, text string
		rows       int
		note       string // of the last row
		faults     int
	}{
		{"a header and no rows", "time,distance,note", 0, "", 0},
		{"a header, a line end and no rows", "time,distance,note\r\n\r\n", 0, "", 0},
		{"a row that tells no place", "time,distance,note\n,,somewhere", 1, "somewhere", 0},
		{"a short row", "time,distance,note\n10:07", 1, "", 0},
		{"a quotation mark inside a cell", "time,distance,note\n10:07,1,a 6\" pipe", 1, `a 6" pipe`, 0},
		{"a quotation mark at the start of a cell", "time,distance,note\n10:07,1,\"old\" clay", 1, `"old" clay`, 1},
		{"a quoted cell with blanks round it", "time,distance,note\n10:07,1, \"a, b\" \n", 1, "a, b", 0},
		{"a line end inside a cell", "time,distance,note\n10:07,1,\"a\r\nb\"", 1, "a\r\nb", 0},
		{"the header again", "time,distance,note\n10:07,1,a\ntime,distance,note\n10:08,2,b", 2, "b", 0},
		{"a separator named first", "sep=|\ntime|distance|note\n10:07|1|a", 1, "a", 0},
		{"a quotation mark too many", "time,distance,note\n10:07,1,\"a\n10:08,2,b\n10:09,3,\"c\"", 1, "a\n10:08,2,b\n10:09,3,\"c", 1},
		{"an empty column between", "time,,distance,note\n10:07,,1,a", 1, "a", 0},
		{"empty columns at the end", "time,distance,note,,,\n10:07,1,a,,,", 1, "a", 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			log := mustRead(t, tt.text, lisbon(t))
			if len(log.Rows) != tt.rows || len(log.Faults) != tt.faults {
				t.Fatalf("%d rows, faults %v, rows %+v", len(log.Rows), log.Faults, log.Rows)
			}
			if tt.rows > 0 && log.Rows[tt.rows-1].Note != tt.note {
				t.Errorf("note %q, want %q", log.Rows[tt.rows-1].Note, tt.note)
			}
		})
	}
}

func TestRowsTellTheirLine(t *testing.T) {
	log := mustRead(t, "A title\n\ntime,note\n\n10:07,\"a\nb\"\n10:08,c\n", lisbon(t))
	if len(log.Above) != 1 || log.Above[0] != "A title" || log.Rows[0].Line != 5 || log.Rows[1].Line != 7 || log.Rows[1].Number != 2 {
		t.Errorf("%q, %+v", log.Above, log.Rows)
	}
}

func TestTheContextIsObeyed(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Read(ctx, strings.NewReader("time\n10:07"), Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
	if _, err := ReadKinds(ctx, strings.NewReader("code,words\nRT,roots"), Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
	if _, err := ReadReadings(ctx, strings.NewReader("video,distance\n1,1"), Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
}

func TestTheReadersOwnErrorComesBack(t *testing.T) {
	broken := errors.New("the drive was pulled out")
	if _, err := Read(context.Background(), io.MultiReader(strings.NewReader("time\n"), failing{broken}), Options{}); !errors.Is(err, broken) {
		t.Errorf("%v", err)
	}
}

type failing struct{ err error }

func (f failing) Read([]byte) (int, error) { return 0, f.err }

// bigLog is a log of n rows as a firm would write it.
func bigLog(n int) string {
	var b strings.Builder
	b.WriteString("Uhrzeit;Entfernung;Befund;Uhrlage;Dringlichkeit;Bemerkung\n")
	for i := range n {
		at := time.Date(2026, 3, 2, 8, 0, i*7, 0, time.UTC)
		b.WriteString(at.Format("15:04:05") + ";" + strings.Replace(plainNumber(float64(i)/10+0.05), ".", ",", 1) + " m;Wurzeln;9-3;beobachten;an der Muffe, dicht\n")
	}
	return b.String()
}

// Reading eight times as many rows takes eight times as many pieces of memory, and not
// more for each that went before. What it takes of time is measured by scripts/bench.
func TestRowsCostWhatTheyAre(t *testing.T) {
	o := lisbon(t)
	few, many := bigLog(250), bigLog(2000)
	mustRead(t, few, o) // the words are read once
	one := testing.AllocsPerRun(1, func() { mustRead(t, few, o) })
	eight := testing.AllocsPerRun(1, func() { mustRead(t, many, o) })
	if eight > 9*one {
		t.Errorf("250 rows take %.0f pieces of memory, 2000 take %.0f", one, eight)
	}
}

func BenchmarkRead2000(b *testing.B) {
	text := bigLog(2000)
	o := lisbon(b)
	for b.Loop() {
		mustRead(b, text, o)
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte("time,distance,what,clock,urgency,note\n10:07,12.4 m,roots,9-3,repair,x\n"))
	f.Add([]byte(bigLog(3)))
	f.Add([]byte("\xff\xfet\x00i\x00m\x00e\x00\n\x001\x000\x00:\x000\x007\x00"))
	f.Add([]byte("date,time,distance,to\n01/02/2026,10:07,\"1,234\",9-Mar\n,23:59,12-15,\n,0:01,46090,1.2E+05"))
	f.Add([]byte("elapsed|video|depth\nT+5|00:05:14;12|40'6\"\n|---|"))
	f.Fuzz(func(t *testing.T, data []byte) {
		o := lisbon(t)
		log, err := Read(context.Background(), bytes.NewReader(data), o)
		if err != nil {
			if l, ok := fault.In(err); !ok || len(l) == 0 {
				t.Errorf("%v", err)
			}
			return
		}
		for i, r := range log.Rows {
			if r.Number != i+1 || r.Line < 1 || len(r.Cells) != len(log.Header) {
				t.Errorf("row %+v under %q", r, log.Header)
			}
		}
	})
}

// What can be read and was hardly meant is said, and stays as it is.
func TestSlipsAreNamed(t *testing.T) {
	for name, c := range map[string]struct {
		log  string
		want []string
	}{
		"rows that stand twice": {"time,distance,what\n10:07,1 m,roots\n10:08,2 m,crack\n10:07,1 m,roots\n10:07,1 m,roots\n", []string{"rows 1, 3 and 4 are the same"}},
		"a millimetre":          {"time,distance,what\n10:07,4.2 mm,roots\n10:08,4200 mm,crack\n", []string{"row 1 lies at 4.2 mm"}},
		"nothing to say":        {"time,distance,what\n10:07,1 m,roots\n10:08,1 m,roots\n10:07,0.05 m,roots\n", nil},
		"many":                  {"time,distance,what\n" + strings.Repeat("10:07,4.2 mm,a\n10:08,3 mm,a\n10:09,2 mm,a\n", 2), []string{"rows 1 and 4", "rows 2 and 5", "rows 3 and 6", "row 1 ", "row 2 ", "4 more"}},
	} {
		log := mustRead(t, c.log, lisbon(t))
		if len(log.Notes) != len(c.want) {
			t.Errorf("%s: %q", name, log.Notes)
			continue
		}
		for i, want := range c.want {
			if !strings.Contains(log.Notes[i].String(), want) {
				t.Errorf("%s: %q, want %q", name, log.Notes[i], want)
			}
		}
	}
}
