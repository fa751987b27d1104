package fault

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"pushcue/timeline/words"
)

func TestPlacesAsAPersonFindsThem(t *testing.T) {
	for _, c := range []struct {
		fault Fault
		want  string
	}{
		{Fault{Text: words.Tell("nothing is known")}, "nothing is known"},
		{Fault{File: "log.csv", Row: 7, Line: 9, Column: "dist", Value: "12,34,5", Text: words.Tell("not a distance")},
			`log.csv, row 7 (line 9), column "dist", value "12,34,5": not a distance`},
		{Fault{File: "log.csv", Row: 7, Text: words.Tell("no time")}, "log.csv, row 7: no time"},
		{Fault{File: "job.toml", Line: 3, Text: words.Tell("no key")}, "job.toml, line 3: no key"},
		{Fault{File: "log\nerror: x.csv", Text: words.Tell("odd")}, "log\uFFFDerror: x.csv: odd"},
		{Fault{Value: "a\x00\u202eb", Text: words.Tell("odd")}, `value "a\x00\u202eb": odd`},
	} {
		if got := c.fault.Error(); got != c.want {
			t.Errorf("%s, want %s", got, c.want)
		}
	}
}

func TestLongValuesAreCutBetweenLetters(t *testing.T) {
	got := Fault{Value: strings.Repeat("ü", 10_000), Text: words.Tell("too long")}.Error()
	if len(got) > 200 || !strings.Contains(got, "ü…") {
		t.Errorf("%.300s", got)
	}
}

func TestListsAreErrorsOnlyWhenSomethingIsWrong(t *testing.T) {
	if err := (List{}).Err(); err != nil {
		t.Errorf("an empty list is %v", err)
	}
	err := List{{Text: words.Tell("one")}, {Text: words.Tell("two")}}.Err()
	if err == nil || err.Error() != "one\ntwo" {
		t.Errorf("%v", err)
	}
}

func TestFaultsAreFoundInWrappedErrors(t *testing.T) {
	for _, err := range []error{
		Of(Fault{Text: words.Tell("x")}),
		fmt.Errorf("reading: %w", Of(Fault{Text: words.Tell("x")})),
		fmt.Errorf("reading: %w", Fault{Text: words.Tell("x")}),
	} {
		if l, ok := In(err); !ok || len(l) != 1 || l[0].Text.String() != "x" {
			t.Errorf("%v: %v %v", err, l, ok)
		}
	}
	if l, ok := In(errors.New("another")); ok {
		t.Errorf("found %v", l)
	}
}
