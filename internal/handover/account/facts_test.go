package account

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"pushcue/internal/testpush"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/words"
)

func TestFactsOfAVisitSayWhichPushTheyAreOf(t *testing.T) {
	en, err := words.For("en")
	if err != nil {
		t.Fatal(err)
	}
	push := func(line, operator string) Push {
		sheet := jobsheet.Default()
		sheet.Job.Reference, sheet.Line.Name, sheet.Job.Operator = "2291-B", line, operator
		return Push{Timeline: testpush.Timeline(t, sheet, nil, nil)}
	}
	got := Of(Input{Language: en, Pushes: []Push{push("kitchen lateral", "R. Almada"), push("bath lateral", "R. Almada")}}).Facts
	want := []Fact{{"Reference", "2291-B"}, {"Operator", "R. Almada"}, {"Push 1: Line", "kitchen lateral"}, {"Push 2: Line", "bath lateral"}}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	if alone := Of(Input{Language: en, Pushes: []Push{push("kitchen lateral", "")}}).Facts; len(alone) != 2 || alone[1].Label != "Line" {
		t.Errorf("a push alone: %v", alone)
	}
}
