package fieldlog

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"pushcue/timeline/fault"
	"pushcue/timeline/timecode"
)

// styled is a value with a number format.
type styled struct {
	value  any
	format string
}

// workbook makes a sheet file: sheets in the order given, each a list of rows.
func workbook(t testing.TB, change func(*excelize.File), sheets ...[][]any) []byte {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	for n, rows := range sheets {
		name := fmt.Sprintf("Sheet%d", n+1)
		if n > 0 {
			if _, err := f.NewSheet(name); err != nil {
				t.Fatal(err)
			}
		}
		for y, row := range rows {
			for x, v := range row {
				at, _ := excelize.CoordinatesToCellName(x+1, y+1)
				if s, ok := v.(styled); ok {
					id, err := f.NewStyle(&excelize.Style{CustomNumFmt: &s.format})
					if err != nil {
						t.Fatal(err)
					}
					f.SetCellStyle(name, at, at, id)
					v = s.value
				}
				if v != nil {
					if err := f.SetCellValue(name, at, v); err != nil {
						t.Fatal(err)
					}
				}
			}
		}
	}
	if change != nil {
		change(f)
	}
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func mustReadSheet(t testing.TB, data []byte, o Options) *Log {
	t.Helper()
	log, err := ReadSheet(context.Background(), bytes.NewReader(data), int64(len(data)), o)
	if err != nil {
		t.Fatal(err)
	}
	return log
}

// The numbers are days since the end of 1899 (ECMA-376 part 1, 18.17.4; clause from memory): 46083 is 2
// March 2026, 46090 is 9 March, 46054 is 1 February.
func TestSheetCellsByTheirType(t *testing.T) {
	const tenOhSeven = (10*60 + 7) / 1440.0
	lisbon := lisbon(t)
	head := []any{"time", "video", "distance", "clock", "size"}
	tests := []struct {
		name  string
		row   []any
		time  string        // "" for none
		half  time.Duration // of the time
		video float64       // seconds; NaN for none
		m     float64       // NaN for none
		clock float64       // NaN for none
		fault string
	}{
		{"plain", []any{"10:07", "5:14.2", 12.4, 3, "50%"}, "2026-03-02 10:07:00", 30 * time.Second, 314.2, 12.4, 3, ""},
		{"text numbers", []any{"10:07:31", "314", "12,4 m", "9", ""}, "2026-03-02 10:07:31", 5e8, 314, 12.4, 9, ""},
		{"typed times", []any{styled{tenOhSeven, "h:mm"}, styled{0.218055555555556, "h:mm"}, 1.5, styled{0.125, "hh:mm"}, nil},
			"2026-03-02 10:07:00", 30 * time.Second, 314, 1.5, 3, ""},
		{"typed times with seconds", []any{styled{tenOhSeven, "hh:mm:ss"}, styled{314.0 / 86400, "[h]:mm:ss"}, 1.5, styled{0.25, "h:mm:ss"}, nil},
			"2026-03-02 10:07:00", 5e8, 314, 1.5, 6, ""},
		{"am and pm", []any{styled{tenOhSeven + 0.5, "h:mm AM/PM"}, styled{314.0 / 86400, "h:mm:ss AM/PM"}, 1.5, 3, nil},
			"2026-03-02 22:07:00", 30 * time.Second, 314, 1.5, 3, ""},
		{"date and time", []any{styled{46083 + tenOhSeven, "m/d/yy h:mm"}, "1", 1.5, 3, nil}, "2026-03-02 10:07:00", 30 * time.Second, 1, 1.5, 3, ""},
		{"a number with binary dust", []any{"10:07", "1", 12.4 + 4e-15, 3.0, nil}, "2026-03-02 10:07:00", 30 * time.Second, 1, 12.4, 3, ""},
		{"a number shown rounded", []any{"10:07", "1", styled{12.44, "0.0"}, styled{3.5, "0.0"}, nil}, "2026-03-02 10:07:00", 30 * time.Second, 1, 12.44, 3.5, ""},
		{"a number shown with its unit", []any{"10:07", "1", styled{10.0, `0.0" ft"`}, 3, nil}, "2026-03-02 10:07:00", 30 * time.Second, 1, 3.048, 3, ""},
		{"a number that text would leave open", []any{"10:07", "1", 1.234, 3, nil}, "2026-03-02 10:07:00", 30 * time.Second, 1, 1.234, 3, ""},
		{"a clock span turned into a date", []any{"10:07", "1", 1.5, styled{46090, "d-mmm"}, nil}, "2026-03-02 10:07:00", 30 * time.Second, 1, 1.5, math.NaN(), `value "9-Mar": a spreadsheet has turned this into a date: it was likely 9-3`},
		{"a distance turned into a date", []any{"10:07", "1", styled{46054, "dd.mm.yyyy"}, 3, nil}, "2026-03-02 10:07:00", 30 * time.Second, 1, math.NaN(), 3, "it was likely 1.2"},
		{"a distance turned into a date and then a number", []any{"10:07", "1", 46054, 3, nil}, "2026-03-02 10:07:00", 30 * time.Second, 1, math.NaN(), 3, "it was likely 1.2"},
		{"a clock span turned into a date and then a number", []any{"10:07", "1", 1.5, 46090, nil}, "2026-03-02 10:07:00", 30 * time.Second, 1, 1.5, math.NaN(), "it was likely 9-3"},
		{"a time shown as a number", []any{tenOhSeven, "1", 1.5, 3, nil}, "", 0, 1, 1.5, 3, "it was likely 10:07"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			log := mustReadSheet(t, workbook(t, nil, [][]any{head, tt.row}), lisbon)
			r := log.Rows[0]
			if tt.time == "" != (r.Time == nil) || r.Time != nil && (r.Time.Half != tt.half || r.Time.Log.Add(-tt.half).Time(time.UTC).Format("2006-01-02 15:04:05") != tt.time) {
				t.Errorf("time %+v", r.Time)
			}
			if math.IsNaN(tt.video) != (r.Video == nil) || r.Video != nil && r.Video.At != timecode.VideoSeconds(tt.video) {
				t.Errorf("video %+v", r.Video)
			}
			if math.IsNaN(tt.m) != (r.Distance == nil) || r.Distance != nil && math.Abs(float64(r.Distance.Metres)-tt.m) > 1e-9 {
				t.Errorf("distance %+v", r.Distance)
			}
			if math.IsNaN(tt.clock) != (r.Clock == nil) || r.Clock != nil && r.Clock.From != tt.clock {
				t.Errorf("clock %+v", r.Clock)
			}
			if tt.fault == "" && len(log.Faults) > 0 || tt.fault != "" && (len(log.Faults) != 1 || !strings.Contains(log.Faults[0].Error(), tt.fault)) {
				t.Errorf("faults %v", log.Faults)
			}
		})
	}
}

func TestASheetThatCountsFrom1904(t *testing.T) {
	data := workbook(t, func(f *excelize.File) {
		yes := true
		f.SetWorkbookProps(&excelize.WorkbookPropsOptions{Date1904: &yes})
	}, [][]any{{"time", "distance"}, {styled{46083 - 1462 + 0.5, "yyyy-mm-dd hh:mm"}, 1.5}})
	log := mustReadSheet(t, data, Options{})
	if got := instants(log, time.UTC); got[0] != "2026-03-02 12:00:00 +00:00" {
		t.Errorf("%q, %v", got, log.Faults)
	}
}

func TestMergedCellsHoldForAllTheirRows(t *testing.T) {
	data := workbook(t, func(f *excelize.File) {
		f.MergeCell("Sheet1", "A2", "A3")
		f.MergeCell("Sheet1", "C4", "D4")
	}, [][]any{{"time", "distance", "what", "note"}, {"10:07", 1.5, "roots", "a"}, {nil, 1.5, "crack", "b"}, {"10:09", 2.5, "bend", nil}})
	log := mustReadSheet(t, data, lisbon(t))
	if len(log.Rows) != 3 || log.Rows[1].Time == nil || log.Rows[1].Time.Log != log.Rows[0].Time.Log || log.Rows[2].Note != "" {
		t.Errorf("%+v", log.Rows)
	}
}

func TestOfSeveralSheetsTheOneWithAHeader(t *testing.T) {
	notes := [][]any{{"Kitchen lateral"}, {"reel checked", "yes"}}
	rows := [][]any{{"time", "distance"}, {"10:07", 1.5}}
	header := [][]any{{"time", "distance"}}
	log := mustReadSheet(t, workbook(t, nil, notes, rows, header), lisbon(t))
	if log.Dialect.Sheet != "Sheet2" || len(log.Rows) != 1 {
		t.Errorf("%q, %d rows", log.Dialect.Sheet, len(log.Rows))
	}
	log = mustReadSheet(t, workbook(t, func(f *excelize.File) { f.SetSheetVisible("Sheet2", false) }, rows, rows), lisbon(t))
	if log.Dialect.Sheet != "Sheet1" {
		t.Errorf("%q", log.Dialect.Sheet)
	}
	for name, data := range map[string][]byte{
		`several sheets look like the log: "Sheet1", "Sheet2"`: workbook(t, nil, rows, rows),
		"no row has the header words":                          workbook(t, nil, notes),
		"the file is empty":                                    workbook(t, nil, [][]any{}),
	} {
		_, err := ReadSheet(context.Background(), bytes.NewReader(data), int64(len(data)), lisbon(t))
		if l, _ := fault.In(err); len(l) != 1 || !strings.Contains(l[0].Error(), name) {
			t.Errorf("%v, want %q", err, name)
		}
	}
}

func TestASheetNamedCSVIsStillRead(t *testing.T) {
	data := workbook(t, nil, [][]any{{"time", "distance"}, {"10:07", 1.5}})
	log, err := Read(context.Background(), bytes.NewReader(data), lisbon(t))
	if err != nil || len(log.Rows) != 1 {
		t.Errorf("%v, %v", log, err)
	}
}

func TestKindsAndReadingsInASheet(t *testing.T) {
	k, err := ReadKinds(context.Background(), bytes.NewReader(workbook(t, nil, [][]any{{"code", "words"}, {"RT", "roots"}})), Options{})
	if err != nil || len(k.Entries) != 1 || k.Entries[0].Key != "roots" {
		t.Errorf("%+v, %v", k, err)
	}
	rs, err := ReadReadings(context.Background(), bytes.NewReader(workbook(t, nil, [][]any{{"video", "distance"}, {1.5, 2.5}})), Options{})
	if err != nil || len(rs.Rows) != 1 || rs.Rows[0].Video.At != timecode.VideoSeconds(1.5) {
		t.Errorf("%+v, %v", rs, err)
	}
}

// bomb is a workbook of which one part unpacks to size bytes, and says so, or lies.
func bomb(t *testing.T, part, text string, size int, honest bool) []byte {
	t.Helper()
	plain := workbook(t, nil, [][]any{{"time", "distance"}, {"10:07", "x"}})
	z, err := zip.NewReader(bytes.NewReader(plain), int64(len(plain)))
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	w.RegisterCompressor(zip.Deflate, func(to io.Writer) (io.WriteCloser, error) { return flate.NewWriter(to, flate.BestSpeed) })
	for _, f := range z.File {
		to, err := w.Create(f.Name)
		if err != nil {
			t.Fatal(err)
		}
		if f.Name == part {
			io.Copy(to, io.LimitReader(&endless{text: text, size: 1 << 40}, int64(size)))
			continue
		}
		from, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		io.Copy(to, from)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	data := out.Bytes()
	if !honest { // claim 1,000 bytes in the list at the end, where readers look
		z, _ = zip.NewReader(bytes.NewReader(data), int64(len(data)))
		for _, f := range z.File {
			if f.Name == part {
				le := func(n uint64) []byte { return []byte{byte(n), byte(n >> 8), byte(n >> 16), byte(n >> 24)} }
				data = bytes.Replace(data, append(le(f.CompressedSize64), le(f.UncompressedSize64)...), append(le(f.CompressedSize64), le(1000)...), -1)
			}
		}
	}
	return data
}

func TestSheetsThatUnpackToTooMuchAreRefused(t *testing.T) {
	tests := []struct {
		name, part, text string
		size             int
		honest           bool
		most             uint64 // MiB of memory, freed ones included
	}{
		{"a sheet of 80 MB", "xl/worksheets/sheet1.xml", "<row><c><v>1</v></c></row>", 80 << 20, true, 2},
		{"words of 80 MB", "xl/sharedStrings.xml", "<si><t>x</t></si>", 80 << 20, true, 2},
		{"80 MB that claim to be small", "xl/worksheets/sheet1.xml", "<row><c><v>1</v></c></row>", 80 << 20, false, 2},
		{"elements in each other without end", "xl/worksheets/sheet1.xml", "<c>", 12 << 20, true, 2},
		{"words just under the limit", "xl/sharedStrings.xml", "<si><t>x</t></si>", 14 << 20, true, 400},
		{"rows without a header", "xl/worksheets/sheet1.xml", "<row><c><v>1</v></c></row>", 1 << 20, true, 200},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			data := bomb(t, tt.part, tt.text, tt.size, tt.honest)
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			_, err := ReadSheet(context.Background(), bytes.NewReader(data), int64(len(data)), Options{File: "log.xlsx"})
			runtime.ReadMemStats(&after)
			if l, ok := fault.In(err); !ok || len(l) != 1 {
				t.Fatalf("%v", err)
			}
			if taken := (after.TotalAlloc - before.TotalAlloc) >> 20; taken > tt.most {
				t.Errorf("took %d MiB of memory", taken)
			}
		})
	}
}

func TestElementsAreCountedAsTheyNest(t *testing.T) {
	for text, want := range map[string]int{
		"<a><b/><c></c>":               1,
		`<a x="/>"><b y='>'>`:          2,
		"<?xml /> ?><a><!-- /> --><b>": 2,
		"<a>/></a>":                    0,
		"<a><!--></b></b>--><b>":       2,
		"<a><![CDATA[</b>]]><b>":       2,
		"<a><!---></a>--><b>":          2,
		"<!DOCTYPE a>":                 deepestXML + 1,
	} {
		var d depth
		for i := range len(text) {
			d.next(text[i])
		}
		if d.open != want {
			t.Errorf("%s: %d, want %d", text, d.open, want)
		}
	}
}

func TestOtherArchivesAreRefused(t *testing.T) {
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	to, _ := w.Create("log.csv")
	to.Write([]byte("time,distance\n10:07,1\n"))
	w.Close()
	_, err := Read(context.Background(), &b, Options{File: "log.zip"})
	if l, _ := fault.In(err); len(l) != 1 || !strings.Contains(l[0].Error(), "an archive, not a log") {
		t.Errorf("%v", err)
	}
}

func TestASheetObeysTheContext(t *testing.T) {
	var rows [][]any
	rows = append(rows, []any{"time", "distance"})
	for range 300 {
		rows = append(rows, []any{"10:07", 1.5})
	}
	data := workbook(t, nil, rows)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := ReadSheet(ctx, bytes.NewReader(data), int64(len(data)), Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
}

// withSheet is a workbook whose one sheet is that text.
func withSheet(t testing.TB, plain []byte, sheet string) []byte {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(plain), int64(len(plain)))
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	w.RegisterCompressor(zip.Deflate, func(to io.Writer) (io.WriteCloser, error) { return flate.NewWriter(to, flate.BestSpeed) })
	for _, f := range z.File {
		to, _ := w.CreateHeader(&zip.FileHeader{Name: f.Name, Method: zip.Store})
		if f.Name == "xl/worksheets/sheet1.xml" {
			io.WriteString(to, sheet)
			continue
		}
		from, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		io.Copy(to, from)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func FuzzReadSheet(f *testing.F) {
	plain := workbook(f, nil, [][]any{{"time", "distance", "clock"}, {"10:07", 1.5, styled{46090, "d-mmm"}}})
	const head = `<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>`
	f.Add(head + `<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="s"><v>1</v></c></row><row r="2"><c r="A2" t="s"><v>3</v></c><c r="B2"><v>1.5</v></c></row></sheetData></worksheet>`)
	f.Add(head + `<row><c t="inlineStr"><is><t>distance</t></is></c></row><row r="7"><c s="1"><v>46090.5</v></c></row></sheetData><mergeCells><mergeCell ref="A1:B9"/></mergeCells></worksheet>`)
	f.Add(head + `<row r="99999999"><c r="XFD1"><v>1e308</v></c></row>`)
	f.Fuzz(func(t *testing.T, sheet string) {
		data := withSheet(t, plain, sheet)
		log, err := ReadSheet(context.Background(), bytes.NewReader(data), int64(len(data)), Options{Date: push})
		if err != nil {
			if _, ok := fault.In(err); !ok {
				t.Errorf("%v", err)
			}
			return
		}
		for _, r := range log.Rows {
			if len(r.Cells) != len(log.Header) {
				t.Errorf("row %+v under %q", r, log.Header)
			}
		}
	})
}
