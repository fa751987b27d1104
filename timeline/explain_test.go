package timeline

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

func TestExplainTellsHowARowCameToItsPlace(t *testing.T) {
	line := dwelling(t, 30*time.Second, "time=10:00:45.0 & at=4.0 m & what=roots", "what=crack & time=12:00:00.0")
	why, ok := line.Explain(1)
	text := words.Join(why, words.Plain("\n")).String()
	for _, want := range []string{
		"Row 1 says what: roots, time 10:00:45.0, distance 4.0 m.", "The log's clock showed 10:00:45.0.",
		"standing at 4.0 m", "in 19 of 20 cases", "Its distance is 4.0 m, as the log has it.",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
	if why, ok = line.Explain(2); !ok || !strings.Contains(words.Join(why, words.Comma).String(), "It isn't placed: ") {
		t.Errorf("row 2: %q", why)
	}
	if _, ok := line.Explain(3); ok {
		t.Error("there is no row 3")
	}
}

func BenchmarkFourHoursAndTwoThousandRows(b *testing.B) {
	s := sheetOf(b, lagOf(30*time.Second))
	for i := range 6 {
		s.Anchors = append(s.Anchors, jobsheet.Anchor{Row: 1 + i*399, Video: timecode.VideoSeconds(float64(7*399*i) + 5), Half: 50 * time.Millisecond})
	}
	log := &fieldlog.Log{}
	began := timecode.LogAt(time.Date(2026, 3, 2, 10, 0, 0, 0, s.Job.Zone))
	push := func(v float64) float64 { return 10 * pushOf(float64(int(v)%1000)/10) }
	for i := range 2000 {
		v := float64(i*7) + 5
		row := rowOf(s, fmt.Sprintf("at=%.1f m & to=%.1f m & what=roots", push(v), push(v)+1))
		row.Number = i + 1
		row.Time = &fieldlog.Moment{Log: began.Add(time.Duration(v * 1e9)), Half: 50 * time.Millisecond, Text: "as shown"}
		log.Rows = append(log.Rows, row)
	}
	in := Input{Sheet: s, Recording: recordingOf(4 * 3600), Log: log, Readings: readingsOf(4*3600, push)}
	for _, tied := range []string{"anchors", "the track"} {
		b.Run("tied by "+tied, func(b *testing.B) {
			for range b.N {
				resolved(b, in)
			}
		})
		s.Anchors = nil
	}
}
