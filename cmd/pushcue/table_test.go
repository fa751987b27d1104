package main

import (
	"strings"
	"testing"
	"time"

	"github.com/mattn/go-runewidth"

	"pushcue/timeline"
	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
)

func TestTheTableFitsEightyColumns(t *testing.T) {
	zone := time.FixedZone("WET", 0)
	at := time.Date(2026, 3, 2, 23, 59, 58, 0, zone)
	metres := distance.Metres(1234.5)
	tl := &timeline.Timeline{Sheet: jobsheet.Default()}
	for i, what := range []string{
		"roots", strings.Repeat("a very long remark about the pipe ", 20), "根が入っている、直径の半分ほど" + strings.Repeat("長", 60),
		"e\u0301te\u0301 " + strings.Repeat("👩‍🔧", 40), "line\nbreak\x1b[31m red \u202e turned", "",
	} {
		tl.Observations = append(tl.Observations, timeline.Observation{
			Number: 1995 + i, Video: timecode.VideoSeconds(14399.9), Uncertainty: 599 * time.Second, Basis: timeline.ByFileTime, Hidden: true,
			Distance: &metres, TrueTime: &at, Entry: &fieldlog.Row{What: fieldlog.Kind{Text: what}},
		})
	}
	var b strings.Builder
	if err := placedTable(tl).write(&b); err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimRight(b.String(), "\n"), "\n")
	if len(lines) != 1+len(tl.Observations) {
		t.Fatalf("%d lines for %d observations", len(lines), len(tl.Observations))
	}
	for _, line := range lines {
		if w := runewidth.StringWidth(line); w > tableWidth {
			t.Errorf("%d columns: %s", w, line)
		}
		if strings.ContainsAny(line, "\x1b\u202e") {
			t.Errorf("a remark reaches the terminal as code: %q", line)
		}
	}
}
