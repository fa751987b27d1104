package placingset

import (
	"math"
	"reflect"
	"testing"
	"time"
)

// What was written is what the truth tells: a time to the second is the log's clock
// when the row was written, a distance to a decimetre is where the camera was.
func TestWhatWasWrittenFollowsFromTheTruth(t *testing.T) {
	timed, placed := 0, 0
	for i := range uint64(60) {
		d := drawingOf(i)
		in, err := d.Input(t.Context())
		if d.Night {
			continue // its times may be ambiguous
		}
		if err != nil {
			t.Fatalf("job %d: %v", i, err)
		}
		if len(in.Log.Rows) != len(d.Rows) || len(in.Log.Faults) > 0 {
			t.Fatalf("job %d: %d rows written, %d read, %v", i, len(d.Rows), len(in.Log.Rows), in.Log.Faults)
		}
		midnight := time.Date(2026, 5, 19, 0, 0, 0, 0, in.Sheet.Job.Zone)
		for n, row := range in.Log.Rows {
			truth := d.Rows[n]
			if truth.Timed {
				timed++
				shown := row.Time.Log.Time(in.Sheet.Job.Zone).Sub(midnight).Seconds()
				if off := math.Abs(shown - d.shows(truth.Seen) - truth.Late); off > row.Time.Half.Seconds()+0.01 {
					t.Errorf("job %d, row %d: written at %.1f, seen at %.1f and %.1f late", i, n+1, shown, d.shows(truth.Seen), truth.Late)
				}
			}
			if truth.Placed && !truth.Typo {
				placed++
				if off := math.Abs(float64(row.Distance.Metres) - d.push.at(truth.Seen)); off > float64(row.Distance.Step)/2+0.3 {
					t.Errorf("job %d, row %d: written %.2f m, seen at %.2f m", i, n+1, row.Distance.Metres, d.push.at(truth.Seen))
				}
			}
		}
	}
	if timed < 200 || placed < 150 {
		t.Errorf("only %d times and %d distances were looked at", timed, placed)
	}
}

func drawingOf(i uint64) *drawing {
	d := newDrawing(5, i)
	d.job()
	return d
}

func TestASeedDrawsTheSameJobs(t *testing.T) {
	a, b, other := Draw(3, 17), Draw(3, 17), Draw(4, 17)
	if !reflect.DeepEqual(a, b) {
		t.Error("the same seed drew another job")
	}
	if a.Log == other.Log {
		t.Error("another seed drew the same log")
	}
}
