package attach

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

func at(clock string) time.Time {
	t, err := time.Parse(time.DateTime, "2026-03-02 "+clock)
	if err != nil {
		panic(err)
	}
	return t
}

func TestFilesAreJoinedByWhatTellsMost(t *testing.T) {
	rows := []Row{
		{Number: 1, Kind: "roots", At: []time.Time{at("10:05:00")}},
		{Number: 2, Kind: "crack", At: []time.Time{at("10:06:00")}, Cell: "memo b.m4a; Außen.JPG"},
		{Number: 3, Kind: "crack", At: []time.Time{at("10:15:00"), at("10:13:25")}, Cell: "gone.wav"},
		{Number: 12, Kind: "belly"},
	}
	for name, c := range map[string]struct {
		file File
		row  int // 0: none
	}{
		"named in the column":                    {File{Name: "spoken/memo b.m4a"}, 2},
		"accents stored apart, another case":     {File{Name: "photos/au\u00dfen.jpg"}, 2},
		"a number leads":                         {File{Name: "spoken/3.wav"}, 3},
		"a number and a letter":                  {File{Name: "spoken/03b crack.wav"}, 3},
		"a row is named":                         {File{Name: "spoken/Zeile 12.wav"}, 12},
		"no such row":                            {File{Name: "spoken/9.wav"}, 0},
		"a length leads":                         {File{Name: "spoken/12 m.wav"}, 0},
		"a length with a point":                  {File{Name: "spoken/3.4m.wav"}, 0},
		"a camera's own counter":                 {File{Name: "photos/IMG_0003.jpg"}, 0},
		"a recorder's own counter":               {File{Name: "spoken/Recording 3.m4a"}, 0},
		"the one row of that kind":               {File{Name: "spoken/Wurzeln_2.m4a"}, 1},
		"two rows of that kind":                  {File{Name: "spoken/crack.m4a"}, 0},
		"soon after":                             {File{Name: "a.m4a", From: at("10:06:20"), Until: at("10:07:00")}, 2},
		"while it was spoken":                    {File{Name: "a.m4a", From: at("10:13:00"), Until: at("10:16:00")}, 3},
		"by the other clock":                     {File{Name: "a.m4a", From: at("10:13:30"), Until: at("10:13:40")}, 3},
		"too long after":                         {File{Name: "a.m4a", From: at("10:08:10"), Until: at("10:08:20")}, 0},
		"just between two":                       {File{Name: "a.m4a", From: at("10:05:30"), Until: at("10:05:30")}, 0},
		"only where it is named, and it isn't":   {File{Name: "3.wav", Named: true}, -1},
		"only where it is named, and so it is":   {File{Name: "memo b.m4a", Named: true}, 2},
		"a name that means nothing, and no time": {File{Name: "spoken/untitled.ogg"}, 0},
	} {
		t.Run(name, func(t *testing.T) {
			j := Join([]File{c.file}, rows)
			got := -1
			for row := range j.Of {
				got = row
			}
			if len(j.Rest) > 0 {
				got = 0
			}
			if got != c.row {
				t.Errorf("joined to row %d, want %d", got, c.row)
			}
			if j.Missing[3] != "gone.wav" {
				t.Errorf("missing: %v", j.Missing)
			}
		})
	}
}

func TestNoFileIsLost(t *testing.T) {
	files := []File{{Name: "1.wav"}, {Name: "1b.wav"}, {Name: "x.wav"}, {Name: "x.wav"}}
	j := Join(files, []Row{{Number: 1, Cell: "x"}})
	if diff := cmp.Diff(Joined{Of: map[int][]int{1: {0, 1}}, Rest: []int{2, 3}, Missing: map[int]string{1: "x"}}, j); diff != "" {
		t.Error(diff)
	}
}

func TestTimesInNames(t *testing.T) {
	for name, want := range map[string]string{
		"20260302_100731.m4a": "10:07:31", "REC-2026-03-02-10-07-31.wav": "10:07:31", "PXL_20260302 100731123.jpg": "", "2026-03-02T10.07.31.jpg": "10:07:31",
		"20261302_100731.m4a": "", "IMG_0003.jpg": "", "20260302.jpg": "",
	} {
		got, ok := TimeInName("photos/"+name, time.UTC)
		if ok != (want != "") || ok && got.Format(time.TimeOnly) != want {
			t.Errorf("%s: got %v %v, want %q", name, got, ok, want)
		}
	}
}

func FuzzJoin(f *testing.F) {
	f.Add("03 roots.wav", "03 roots")
	f.Fuzz(func(t *testing.T, name, cell string) {
		j := Join([]File{{Name: name}}, []Row{{Number: 3, Kind: "roots", Cell: cell}})
		if len(j.Of[3])+len(j.Rest) != 1 {
			t.Errorf("%q, %q: %v", name, cell, j)
		}
	})
}

func TestAPersonsWordStandsAboveTheRest(t *testing.T) {
	rows := []Row{{Number: 1, Cell: "memo.wav", Given: []string{"spoken/2 crack.wav"}}, {Number: 2, Cell: "2 crack"}}
	files := []File{{Name: "spoken/memo.wav"}, {Name: "spoken/2 crack.wav"}, {Name: "spoken/1.wav", Whole: true}, {Name: "spoken/2.wav", Omit: true}}
	want := Joined{Of: map[int][]int{1: {1, 0}}, Rest: []int{2}, Missing: map[int]string{}}
	if diff := cmp.Diff(want, Join(files, rows)); diff != "" {
		t.Error(diff)
	}
}
