package jobsheet

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

// What is shown of a sheet can be typed back: the same values are in force then.
func TestValuesAreWrittenAsCorrectionsTakeThem(t *testing.T) {
	from := Sources{Job: &Source{File: JobFile, Data: []byte(whole + "\n")}}
	sheet, _, err := ReadCorrected(from, nil)
	if err != nil {
		t.Fatal(err)
	}
	values := sheet.Values()
	var typed []Correction
	set := 0
	for _, key := range Keys() {
		value, there := values[key]
		if !there {
			t.Errorf("%s has no value, not even none", key)
		}
		if value == nil {
			continue
		}
		set++
		switch list := value.(type) { // as it comes out of JSON
		case [4]int:
			value = []any{float64(list[0]), float64(list[1]), float64(list[2]), float64(list[3])}
		case []string:
			var names []any
			for _, name := range list {
				names = append(names, name)
			}
			value = names
		}
		typed = append(typed, Correction{File: "edits.jsonl", Key: key, Value: value})
	}
	if set < 40 {
		t.Errorf("only %d of %d values are set: the sheet of this test says too little", set, len(Keys()))
	}
	again, unfit, err := ReadCorrected(Sources{}, typed)
	if err != nil || len(unfit) > 0 {
		t.Fatal(err, unfit)
	}
	if diff := cmp.Diff(values, again.Values()); diff != "" {
		t.Errorf("typed back they differ:\n%s", diff)
	}
}
