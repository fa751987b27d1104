package timeline

import (
	"fmt"
	"math/rand"
	"testing"
	"time"

	"pushcue/internal/soak"
	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/timecode"
)

// untiedJob is a random push and a log of it that nothing ties to the recording:
// written give or take 1.5 s, one row of five up to 30 s late, one of ten with a
// distance from anywhere. began is the log's time of the first frame.
func untiedJob(t testing.TB, random *rand.Rand, rows int, length float64) (in Input, began timecode.Log) {
	push := randomPush(random, length)
	s := sheetOf(t, lagOf(30*time.Second))
	began = timecode.LogAt(time.Date(2026, 3, 2, 9, 0, 0, 0, s.Job.Zone)) + timecode.LogSeconds(random.Float64()*7200)
	log := &fieldlog.Log{}
	for i := range rows {
		seen := push.looked(random, length-10)
		at := push.at(seen)
		if random.Intn(10) == 0 {
			at = random.Float64() * push.at(length)
		}
		written := seen + (2*random.Float64()-1)*1.5
		if random.Intn(5) == 0 {
			written += 5 + 25*random.Float64()
		}
		log.Rows = append(log.Rows, writtenAt(rowOf(s, fmt.Sprintf("at=%.1f m", at)), i+1, began+timecode.LogSeconds(written)))
	}
	return Input{Sheet: s, Recording: recordingOf(length), Log: log, Readings: readingsOf(length, push.at)}, began
}

// writtenAt gives a row its number and its time, to the second.
func writtenAt(row fieldlog.Row, number int, at timecode.Log) fieldlog.Row {
	row.Number = number
	row.Time = &fieldlog.Moment{Log: at - at%1e9 + 5e8, Half: 5e8, Text: "as written"}
	return row
}

func TestClockFoundByTheTrack(t *testing.T) {
	random := rand.New(rand.NewSource(29))
	pushes, sure, held, within, gross := soak.Count(70, 600), 0, 0, 0, 0
	for range pushes {
		in, began := untiedJob(t, random, 8+random.Intn(18), 300+600*float64(random.Intn(3)))
		line := resolved(t, in)
		if line.Clock == nil {
			continue
		}
		sure++
		wantWarning(t, line, "clock-by-track", "agreement")
		l, half, ok := line.Clock.Log(0)
		off := l.Sub(began).Abs()
		if ok && off <= half {
			held++
		}
		if off <= 3*time.Second {
			within++
		}
		if off > 10*time.Second {
			gross++
		}
		for _, o := range line.Observations {
			if o.Basis == ByTrack && o.TrueTime == nil {
				t.Errorf("row %d: true time isn't known", o.Row)
			}
		}
	}
	most := 100 // of 100; a few pushes can't show that the ± is too wide
	if soak.On() {
		most = 99
	}
	text := fmt.Sprintf("sure in %d of %d pushes: the ± held in %d, within 3 s %d, off by more than 10 s %d", sure, pushes, held, within, gross)
	t.Log(text)
	if 10*sure < 7*pushes || gross > 0 || 20*within < 17*sure || 100*held < 90*sure || 100*held > most*sure {
		t.Error(text)
	}
}

// Few rows seldom tell the clock; where they do, it is right.
func TestFewRowsTieOnlyWhatTheyTell(t *testing.T) {
	random := rand.New(rand.NewSource(31))
	tied := 0
	for i := range 40 {
		in, began := untiedJob(t, random, 1+i%4, 600)
		line := resolved(t, in)
		if line.Clock == nil {
			continue
		}
		tied++
		if l, _, ok := line.Clock.Log(0); !ok || len(in.Log.Rows) < 3 || l.Sub(began).Abs() > 10*time.Second {
			t.Errorf("%d rows tied the clock to %v, it began at %v", len(in.Log.Rows), l, began)
		}
	}
	if tied > 8 {
		t.Errorf("%d of 40 logs of up to four rows tied the clock", tied)
	}
}

// Many rows written at one stand are one witness, however many they are.
func TestRowsAtOnePlaceTieNothing(t *testing.T) {
	in, began := untiedJob(t, rand.New(rand.NewSource(41)), 4, 600)
	for i := range 12 {
		in.Log.Rows = append(in.Log.Rows, writtenAt(rowOf(in.Sheet, "at=4.0 m"), 5+i, began.Add(90*time.Second)))
	}
	if line := resolved(t, in); line.Clock != nil {
		t.Error("tied by one stand")
	}
}

// Where the camera went evenly, a log that counts its distances from another zero
// would look as well tied by another offset.
func TestEvenlySpacedRowsTieNothing(t *testing.T) {
	random := rand.New(rand.NewSource(43))
	for range soak.Count(24, 60) {
		s := sheetOf(t, lagOf(30*time.Second))
		rows, step := 5+random.Intn(26), float64(10+random.Intn(40))
		stand := random.Float64() * step
		at := func(v float64) float64 {
			stands := float64(int(v / step))
			return stands + max(0, (v-stands*step-stand)/(step-stand))
		}
		began := timecode.LogAt(time.Date(2026, 3, 2, 9, 0, 0, 0, s.Job.Zone))
		zero := float64(random.Intn(4))
		log := &fieldlog.Log{}
		for i := range rows {
			v := step*float64(i+3) + stand/2
			log.Rows = append(log.Rows, writtenAt(rowOf(s, fmt.Sprintf("at=%.1f m", at(v)+zero)), i+1, began+timecode.LogSeconds(v)))
		}
		length := step * float64(rows+6)
		line := resolved(t, Input{Sheet: s, Recording: recordingOf(length), Log: log, Readings: readingsOf(length, at)})
		if line.Clock != nil {
			t.Errorf("%d rows %v s apart, zero %v m: tied", rows, step, zero)
		}
	}
}

// Another push goes at much the same pace, so that now and then as many rows fall
// together as in a log of the push itself: one log in several hundred may.
func TestLogOfAnotherPushTiesNothing(t *testing.T) {
	random := rand.New(rand.NewSource(37))
	pushes, tied := soak.Count(30, 600), 0
	for i := range pushes {
		in, _ := untiedJob(t, random, 8+i%18, 600)
		other, _ := untiedJob(t, random, 8+i%18, 600)
		in.Log = other.Log
		if i%2 == 0 {
			for i := range in.Log.Rows {
				in.Log.Rows[i].Distance.Metres = distance.Metres(random.Float64() * 30)
			}
		}
		if line := resolved(t, in); line.Clock != nil {
			tied++
		}
	}
	if tied > max(1, pushes/200) {
		t.Errorf("%d of %d logs of other pushes were tied", tied, pushes)
	}
}

// Over a long push the earlier and the later rows tell something of the rate: the ±
// holds at both ends where clocks drift by 150 ppm either way, and where they drift by
// 400 ppm the ends are nearer to the truth than by one offset for all.
func TestRateFoundByTheTrack(t *testing.T) {
	const length = 7200.0
	pushes := soak.Count(5, 90)
	ends := func(drifting float64) (sure, held int, with, without tally) {
		random := rand.New(rand.NewSource(53))
		for i := range pushes {
			in, began := untiedJob(t, random, 60, length)
			drift := drifting * float64(2*(i%2)-1)
			for i := range in.Log.Rows {
				m := in.Log.Rows[i].Time
				m.Log += timecode.LogSeconds(drift * m.Log.Sub(began).Seconds())
			}
			line := resolved(t, in)
			if line.Clock == nil {
				continue
			}
			sure++
			for _, v := range []float64{0, length - 1} {
				at := timecode.VideoSeconds(v)
				l, half, _ := line.Clock.Log(at)
				truth := began + timecode.LogSeconds(v*(1+drift))
				if l.Sub(truth).Abs() <= half {
					held++
				}
				with.add(l.Sub(truth).Abs().Seconds(), half.Seconds())
				oneOffset := timecode.Log(at) + line.Agreements[0].Offset
				without.add(oneOffset.Sub(truth).Abs().Seconds(), 1)
			}
		}
		t.Logf("%.0f ppm: sure in %d of %d, the ± held at %d of %d ends; off by %.2f s in the median, with one offset by %.2f s",
			drifting*1e6, sure, pushes, held, 2*sure, median(with.off), median(without.off))
		return sure, held, with, without
	}
	least := 80 // of 100 ends; few of them leave room for chance
	if soak.On() {
		least = 90
	}
	if sure, held, _, _ := ends(150e-6); 5*sure < 4*pushes || held*100 < least*2*sure {
		t.Errorf("sure in %d of %d, the ± held at %d of %d ends", sure, pushes, held, 2*sure)
	}
	if _, _, with, without := ends(400e-6); median(with.off) >= median(without.off) {
		t.Errorf("off by %.2f s in the median, with one offset by %.2f s", median(with.off), median(without.off))
	}
}
