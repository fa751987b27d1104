package timeline

import (
	"fmt"
	"math/rand"
	"testing"
	"time"

	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/timecode"
)

// untiedJob is a random push and a log of it that nothing ties to the recording.
// began is the log's time of the first frame; a wrong row's distance is off.
func untiedJob(t *testing.T, random *rand.Rand, rows int, lateness, wrong float64) (in Input, began timecode.Log) {
	push := randomPush(random, 600)
	s := sheetOf(t, lagOf(30*time.Second))
	began = timecode.LogAt(time.Date(2026, 3, 2, 9, 0, 0, 0, s.Job.Zone)) + timecode.LogSeconds(random.Float64()*7200)
	log := &fieldlog.Log{}
	for i := range rows {
		seen := push.looked(random)
		at := push.at(seen)
		if random.Float64() < wrong {
			at += 1 + random.Float64()*5
		}
		row := rowOf(s, fmt.Sprintf("at=%.1f m", at))
		written := began + timecode.LogSeconds(seen+min(random.ExpFloat64()*lateness, 30))
		row.Number, row.Time = i+1, &fieldlog.Moment{Log: written - written%1e9 + 5e8, Half: 5e8, Text: "as written"}
		log.Rows = append(log.Rows, row)
	}
	return Input{Sheet: s, Recording: recordingOf(600), Log: log, Readings: readingsOf(600, push.at)}, began
}

func TestClockFoundByTheTrack(t *testing.T) {
	random := rand.New(rand.NewSource(29))
	sure, held, gross := 0, 0, 0
	for i := range 60 {
		in, began := untiedJob(t, random, 10+i%10, 4, 0.1)
		line := resolved(t, in)
		if line.Clock == nil {
			continue
		}
		sure++
		wantWarning(t, line, "clock-by-track", "agreement")
		l, half, ok := line.Clock.Log(0)
		if off := l.Sub(began).Abs(); ok && off <= half {
			held++
		} else if off > 8*time.Second {
			gross++
		}
		for _, o := range line.Observations {
			if o.Basis == ByTrack && o.TrueTime == nil {
				t.Errorf("row %d: true time isn't known", o.Row)
			}
		}
	}
	t.Logf("sure %d of 60, held %d, gross %d", sure, held, gross)
	if sure < 45 || gross > 0 || held < sure*9/10 {
		t.Errorf("sure in %d of 60 jobs, the ± held in %d, far off in %d", sure, held, gross)
	}
}

func TestTooFewRowsTieNothing(t *testing.T) {
	random := rand.New(rand.NewSource(31))
	for range 20 {
		in, _ := untiedJob(t, random, 4, 4, 0)
		if line := resolved(t, in); line.Clock != nil {
			t.Errorf("tied by %d rows", len(in.Log.Rows))
		}
	}
}

func TestLogOfAnotherPushTiesNothing(t *testing.T) {
	random := rand.New(rand.NewSource(37))
	for range 20 {
		in, _ := untiedJob(t, random, 15, 4, 0)
		other, _ := untiedJob(t, random, 15, 4, 0)
		in.Log = other.Log
		for i := range in.Log.Rows {
			in.Log.Rows[i].Distance.Metres = distance.Metres(random.Float64() * 30)
		}
		if line := resolved(t, in); line.Clock != nil {
			t.Errorf("a log of another push was tied: %+v", line.Clock.Segments)
		}
	}
}
