package edits

import (
	"strings"
	"testing"
)

// Whoever prepares a job folder may write any line into its corrections: none sets what
// the review page wouldn't let a person set.
func TestAForgedLineNamesNoFileOutside(t *testing.T) {
	for _, c := range []struct {
		values string
		counts bool
	}{
		{`"log.file":"../../etc/passwd"`, false},
		{`"log.file":"/etc/passwd"`, false},
		{`"log.file":"..\\..\\secret.csv"`, false},
		{`"log.kinds":"../kinds.csv"`, false},
		{`"distance.readings":"a/../../readings.csv"`, false},
		{`"firm.logo":"/mnt/card/picture.png"`, false},
		{`"recording.files":["part1.mp4","../../outside.mp4"]`, false},
		{`"recording.files":"../outside.mp4"`, false},
		{`"line.size":"100 mm","log.file":"../x"`, false},
		{`"log.file":"notes/log.csv"`, true},
		{`"log.file":null`, true},
		{`"recording.files":["part2.mp4","part1.mp4"]`, true},
		{`"line.name":"../../etc"`, true},
	} {
		l := Read(File, []byte(`{"id":"a","what":"sheet","values":{`+c.values+`}}`+"\n"))
		if got := len(l.Live()) == 1; got != c.counts {
			t.Errorf("%s counts: %v", c.values, got)
		}
		if c.counts {
			continue
		}
		if got := l.Corrections(); len(got) > 0 {
			t.Errorf("%s sets %+v", c.values, got)
		}
		if len(l.Faults) != 1 || !strings.Contains(l.Faults[0].Text.String(), "only a file of the job folder can be named here") {
			t.Errorf("%s: %v", c.values, l.Faults)
		}
	}
}
