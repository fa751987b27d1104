package edits_test

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"pushcue/timeline/edits"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
)

const note = `{"id":"a","time":"2026-03-02T18:00:00Z","author":"ana","what":"set","row":1,"values":{"note":"zweimal gesehen, außen"}}`

func readLog(t *testing.T, text string) *fieldlog.Log {
	t.Helper()
	log, err := fieldlog.Read(t.Context(), strings.NewReader(text), fieldlog.Options{File: "log.csv", Zone: time.UTC})
	if err != nil {
		t.Fatal(err)
	}
	return log
}

const written = "time;distance;what;clock;note\n10:07;12.4;roots;9-3;fine ones\n10:09;14,x;crack;;\n10:12;16.0;belly;;long\n"

func lines(ls ...string) []byte { return []byte(strings.Join(ls, "\n") + "\n") }

func apply(t *testing.T, list *edits.List, log *fieldlog.Log) (*jobsheet.Sheet, *fieldlog.Log, []edits.Unfit) {
	t.Helper()
	sheet := jobsheet.Default()
	corrected, unfit := list.Apply(sheet, log, fieldlog.Options{File: "log.csv", Zone: time.UTC}, func(c string) string { return c })
	return sheet, corrected, unfit
}

func TestALineCutOffByThePowerIsNamedAndTheRestCounts(t *testing.T) {
	for n := 1; n < len(note)-1; n++ {
		for end, live := range map[string]int{"": 1, "\n": 1, "\n" + strings.Replace(note, `"a"`, `"b"`, 1) + "\n": 2} {
			list := edits.Read(edits.File, []byte(note+"\n"+note[:n]+end))
			if len(list.Live()) != live || len(list.Faults) != 1 || list.Faults[0].Line != 2 || !slices.Equal(list.Cut, []int{2}) {
				t.Fatalf("cut after %d bytes, then %q: %d in force, %v, cut %v", n, end, len(list.Live()), list.Faults, list.Cut)
			}
		}
	}
}

func TestWhatCantBeReadIsNamedWithItsLine(t *testing.T) {
	for name, line := range map[string]string{
		"no JSON":             `row 7 is roots`,
		"no id":               `{"what":"aside","row":1}`,
		"no row":              `{"id":"b","what":"aside"}`,
		"row and observation": `{"id":"b","what":"aside","row":1,"on":"c"}`,
		"no time":             `{"id":"b","what":"seen","row":1}`,
		"a time before it":    `{"id":"b","what":"seen","row":1,"video_s":-2}`,
		"backward clip":       `{"id":"b","what":"clip","row":1,"from_s":5,"to_s":4}`,
		"half a clip":         `{"id":"b","what":"clip","row":1,"from_s":5}`,
		"no values":           `{"id":"b","what":"set","row":1}`,
		"unknown column":      `{"id":"b","what":"set","row":1,"values":{"colour":"red"}}`,
		"a number for text":   `{"id":"b","what":"set","row":1,"values":{"note":5}}`,
		"undo of nothing":     `{"id":"b","what":"undo","edit":"z"}`,
		"the same id again":   note,
		"not UTF-8":           "{\"id\":\"b\xff\",\"what\":\"aside\",\"row\":1}",
		"of a newer version":  `{"id":"b","what":"levitate","row":1}`,
	} {
		list := edits.Read(edits.File, lines(note, line, `{"id":"c","what":"aside","row":2}`))
		live := list.Live()
		if len(list.Faults) != 1 || list.Faults[0].Line != 2 || len(live) < 2 || live[len(live)-1].ID != "c" {
			t.Errorf("%s: %v, in force %v", name, list.Faults, live)
		}
	}
}

func TestUndoAndRedoGoWithoutEnd(t *testing.T) {
	list := &edits.List{File: edits.File}
	n := 0
	do := func(what, of string) {
		n++
		e := edits.Edit{ID: fmt.Sprint("e", n), What: what, Edit: of}
		if what == edits.Set {
			e.Row, e.Values = 1, map[string]any{"note": fmt.Sprint(n)}
		}
		list = list.With(e)
	}
	expect := func(note string, undo, redo int) {
		t.Helper()
		_, log, _ := apply(t, list, readLog(t, written))
		_, u := list.Undoable()
		_, r := list.Redoable()
		if log.Rows[0].Note != note || u != undo || r != redo || len(list.Faults) > 0 {
			t.Errorf("note %q, undo %d, redo %d, %v; wanted %q, %d, %d", log.Rows[0].Note, u, r, list.Faults, note, undo, redo)
		}
	}
	for range 300 {
		do(edits.Set, "")
	}
	expect("300", 300, 0)
	for range 300 {
		last, _ := list.Undoable()
		do(edits.Undo, last.ID)
	}
	expect("fine ones", 0, 300)
	for range 299 {
		last, _ := list.Redoable()
		do(edits.Redo, last.ID)
	}
	expect("299", 299, 1)
	do(edits.Set, "") // from here on the redo is out of reach
	expect(fmt.Sprint(n), 300, 0)
	do(edits.Undo, "e1") // one in the middle
	expect(fmt.Sprint(n-1), 299, 1)
	last, _ := list.Redoable()
	do(edits.Redo, last.ID)
	expect(fmt.Sprint(n-2), 300, 0)

	var file []byte
	for _, e := range list.Edits {
		var err error
		if file, err = e.Append(file); err != nil {
			t.Fatal(err)
		}
	}
	if again := edits.Read(edits.File, file); len(again.Faults) > 0 || len(again.Live()) != len(list.Live()) {
		t.Errorf("read back: %d in force of %d, %v", len(again.Live()), len(list.Live()), again.Faults)
	}
}

func TestCorrectionsAreLaidOverTheLog(t *testing.T) {
	log := readLog(t, written)
	if len(log.Faults) != 1 {
		t.Fatalf("%v", log.Faults)
	}
	list := edits.Read(edits.File, lines(
		`{"id":"a","what":"set","row":2,"values":{"distance":"14.2","what":"hole","clock":"12","urgency":"repair","time":"10:10:30"}}`,
		`{"id":"b","what":"seen","row":3,"video_s":12.5}`,
		`{"id":"c","what":"aside","row":1}`,
		`{"id":"d","what":"add","video_s":20,"values":{"what":"joint open","distance":"17 to 18"}}`,
		`{"id":"e","what":"set","on":"d","values":{"note":"added"}}`,
		`{"id":"f","what":"still","on":"d","video_s":20.5}`,
		`{"id":"g","what":"clip","row":3,"from_s":11,"to_s":14}`,
		`{"id":"h","what":"taped","counter":"10.2 m","length":"10 m"}`,
		`{"id":"i","what":"anchor","row":2,"video_s":5.25}`,
	))
	sheet, got, unfit := apply(t, list, log)
	if len(unfit) > 0 || len(list.Faults) > 0 {
		t.Fatalf("%v %v", unfit, list.Faults)
	}
	r := got.Rows[1]
	if r.Distance.Metres != 14.2 || r.What.Key != "hole" || r.Clock.From != 12 || r.Urgency != fieldlog.UrgencyRepair {
		t.Errorf("row 2: %+v", r)
	}
	if at := r.Time.Log.Time(time.UTC).Format("15:04:05"); at != "10:10:30" {
		t.Errorf("row 2 is at %s", at)
	}
	if want := "clock distance time urgency video what"; strings.Join(r.Corrected, " ") != want {
		t.Errorf("from a person: %v", r.Corrected)
	}
	if len(got.Faults) != 0 {
		t.Errorf("the cell was typed anew, and is still a fault: %v", got.Faults)
	}
	if got.Rows[2].Seen.Seconds() != 12.5 || got.Rows[2].ClipTo.Seconds() != 14 || !got.Rows[0].Aside {
		t.Errorf("%+v", got.Rows)
	}
	added := got.Rows[3]
	if added.Number != 4 || added.Added != "d" || added.Note != "added" || added.What.Key != "open-joint" || added.To.Metres != 18 || added.Still.Seconds() != 20.5 {
		t.Errorf("added: %+v", added)
	}
	if len(sheet.Anchors) != 1 || sheet.Anchors[0].Row != 2 || len(sheet.Distance.Taped) != 1 {
		t.Errorf("%+v %+v", sheet.Anchors, sheet.Distance.Taped)
	}
	if log.Rows[1].Distance != nil || log.Rows[0].Aside || len(log.Rows) != 3 {
		t.Error("the log as read was changed")
	}
}

func TestBackToWhatTheLogHas(t *testing.T) {
	list := edits.Read(edits.File, lines(note, `{"id":"b","what":"set","row":1,"values":{"note":null}}`))
	_, got, _ := apply(t, list, readLog(t, written))
	if r := got.Rows[0]; r.Note != "fine ones" || len(r.Corrected) != 0 {
		t.Errorf("%+v", r)
	}
}

func TestARowIsFoundAgainWhereverItStands(t *testing.T) {
	before := readLog(t, written)
	e := edits.Edit{ID: "a", What: edits.Set, Row: 3, Is: edits.Mark(before, 3), Values: map[string]any{"size": "50 mm"}}
	list := (&edits.List{File: edits.File}).With(e)
	for name, c := range map[string]struct {
		log string
		row int // 0: it fits no more
	}{
		"as it was":        {written, 3},
		"its note changed": {strings.Replace(written, "long", "longer", 1), 3},
		"a row above it":   {strings.Replace(written, "10:07;", "10:05;2.0;bend;;\n10:07;", 1), 4},
		"taken out":        {strings.Replace(written, "10:12;16.0;belly;;long\n", "", 1), 0},
		"another place":    {strings.Replace(written, "16.0", "17.0", 1), 0},
	} {
		_, got, unfit := apply(t, list, readLog(t, c.log))
		at := 0
		for _, r := range got.Rows {
			if r.Size != "" {
				at = r.Number
			}
		}
		if at != c.row || (len(unfit) > 0) != (c.row == 0) {
			t.Errorf("%s: at row %d, %v", name, at, unfit)
		}
	}
}

func TestAPushWithoutALogGetsOne(t *testing.T) {
	list := edits.Read(edits.File, lines(`{"id":"d","what":"add","video_s":20,"values":{"what":"roots"}}`))
	_, got, unfit := apply(t, list, nil)
	if len(unfit) > 0 || len(got.Rows) != 1 || got.Rows[0].Number != 1 || len(got.Header) == 0 {
		t.Fatalf("%+v %v", got, unfit)
	}
	if _, none, _ := apply(t, edits.Read(edits.File, nil), nil); none != nil {
		t.Error("nothing was added, and there is a log")
	}
}

func TestWhatDoesntFitIsNamed(t *testing.T) {
	list := edits.Read(edits.File, lines(
		`{"id":"a","time":"2026-03-02T18:00:00Z","author":"ana","what":"set","row":1,"values":{"distance":"far"}}`,
		`{"id":"b","what":"set","on":"z","values":{"note":"x"}}`,
		`{"id":"c","what":"taped","counter":"10 m","length":"90 m"}`,
		`{"id":"d","what":"seen","row":9,"video_s":1}`,
	))
	_, _, unfit := apply(t, list, readLog(t, written))
	if len(unfit) != 4 {
		t.Fatalf("%v", unfit)
	}
	if s := unfit[0].Sentence(); !strings.Contains(s.String(), "ana") || !strings.Contains(s.String(), `"far"`) {
		t.Error(s)
	}
}

func TestTheSheetsValuesAreCorrected(t *testing.T) {
	list := edits.Read(edits.File, lines(
		`{"id":"a","what":"sheet","values":{"line.size":"100 mm","counter.look":[10,20,30,40],"job.date":"2026-03-02","log.columns.urgency":"grade"}}`,
		`{"id":"b","what":"sheet","values":{"line.material":"clay","captions.strip":"sideways"}}`,
		`{"id":"c","what":"sheet","values":{"line.size":null}}`,
	))
	source := &jobsheet.Source{File: "job.toml", Data: []byte("[line]\nsize = \"75 mm\"\n[log.columns]\ndistance = \"Meterage\"\n")}
	sheet, faults, err := jobsheet.ReadCorrected(jobsheet.Sources{Job: source}, list.Corrections())
	if err != nil {
		t.Fatal(err)
	}
	if sheet.Line.Size != "75 mm" || sheet.Line.Material != "clay" || sheet.Counter.Box != [4]int{10, 20, 30, 40} || sheet.Job.Date.Day != 2 {
		t.Errorf("%+v", sheet)
	}
	if sheet.Log.Columns["distance"] != "Meterage" || sheet.Log.Columns["urgency"] != "grade" {
		t.Errorf("columns: %v", sheet.Log.Columns)
	}
	if unfit := list.UnfitSheet(faults); len(unfit) != 1 || unfit[0].Edit.ID != "b" {
		t.Errorf("%v", unfit)
	}
	if want := "counter.look job.date line.material log.columns.urgency"; strings.Join(sheet.Corrected, " ") != want {
		t.Errorf("from a person: %v", sheet.Corrected)
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(note + "\n"))
	f.Add([]byte(note + "\n" + `{"id":"b","what":"undo","edit":"a"}`))
	f.Add([]byte(`{"id":"d","what":"add","video_s":20,"values":{"what":"roots","distance":"1,234"}}` + "\n{"))
	f.Add([]byte(`{"id":"d","what":"set","row":2,"values":{"time":"10:07","clock":"9-3"}}`))
	log, err := fieldlog.Read(f.Context(), strings.NewReader(written), fieldlog.Options{})
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		list := edits.Read(edits.File, data)
		list.Corrections()
		corrected, _ := list.Apply(jobsheet.Default(), log, fieldlog.Options{}, func(c string) string { return c })
		if len(corrected.Rows) < len(log.Rows) {
			t.Fatal("rows are lost")
		}
		var again []byte
		for _, e := range list.Edits {
			if again, err = e.Append(again); err != nil {
				t.Fatal(err)
			}
		}
		back := edits.Read(edits.File, again)
		if len(back.Edits) != len(list.Edits) || len(back.Live()) != len(list.Live()) {
			t.Fatalf("written and read back: %d edits of %d, %d in force of %d", len(back.Edits), len(list.Edits), len(back.Live()), len(list.Live()))
		}
		if _, err := json.Marshal(corrected.Rows); err != nil {
			t.Fatal(err)
		}
	})
}

func TestTheLogsClockIsTiedInAPicture(t *testing.T) {
	list := edits.Read(edits.File, lines(
		`{"id":"a","what":"tie","log":"10:07:31","video_s":2}`,
		`{"id":"b","what":"tie","log":"10:07:33","half_s":2.5,"video_s":2}`,
		`{"id":"c","what":"tie","log":"10:08:00","video_s":30.5}`,
		`{"id":"d","what":"tie","log":"half past","video_s":4}`,
	))
	sheet, _, unfit := apply(t, list, readLog(t, written))
	if len(unfit) != 1 || unfit[0].Edit.ID != "d" || !strings.Contains(unfit[0].Text.String(), "half past") {
		t.Errorf("%+v", unfit)
	}
	if len(sheet.Anchors) != 2 {
		t.Fatalf("said again of the same picture, the later word counts: %+v", sheet.Anchors)
	}
	if !slices.Equal(sheet.Corrected, []string{"anchor"}) {
		t.Errorf("what came from a person: %v", sheet.Corrected)
	}
	a, c := sheet.Anchors[0], sheet.Anchors[1]
	if a.Edit != "b" || a.Log.Text != "10:07:33" || a.LogHalf != 2500*time.Millisecond || a.Video.Seconds() != 2 {
		t.Errorf("%+v", a)
	}
	if c.LogHalf != 0 || c.Video.Seconds() != 30.5 {
		t.Errorf("%+v", c)
	}
}

func TestWhereTheHeadWasWhenTheCounterWasSetAnew(t *testing.T) {
	list := edits.Read(edits.File, lines(
		`{"id":"a","what":"reset","length":"8.4 m","video_s":24}`,
		`{"id":"b","what":"reset","length":"0 m","video_s":24}`,
		`{"id":"c","what":"reset","length":"somewhere","video_s":30}`,
		`{"id":"d","what":"reset","length":"1 m"}`,
	))
	if len(list.Faults) != 1 || list.Faults[0].Line != 4 {
		t.Errorf("a reset at no moment: %v", list.Faults)
	}
	sheet, _, unfit := apply(t, list, nil)
	if len(unfit) != 1 || unfit[0].Edit.ID != "c" || !slices.Equal(sheet.Corrected, []string{"distance.reset"}) {
		t.Errorf("%+v, from a person: %v", unfit, sheet.Corrected)
	}
	if r := sheet.Distance.Resets; len(r) != 1 || r[0].Place != 0 || r[0].At.Seconds() != 24 {
		t.Errorf("said again of the same moment, the later word counts: %+v", r)
	}
}

func TestWhatWasSeenChangesNothing(t *testing.T) {
	list := edits.Read(edits.File, lines(
		`{"id":"a","what":"noted","code":"pause-found","text":"a pause of 60 s"}`,
		`{"id":"b","what":"noted","code":"pause-found"}`,
	))
	if len(list.Faults) != 1 || len(list.Live()) != 1 {
		t.Fatalf("%v %v", list.Faults, list.Live())
	}
	log := readLog(t, written)
	sheet, corrected, unfit := apply(t, list, log)
	if len(unfit) != 0 || len(sheet.Anchors) != 0 || len(corrected.Rows) != len(log.Rows) {
		t.Errorf("%v %v", unfit, sheet.Anchors)
	}
}
