package timeline

import (
	"math"
	"math/rand"
	"strings"
	"testing"
	"time"

	"pushcue/internal/soak"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// stands are when a push stood, each edge off by up to half a second, and one of
// ten missed, as pictures tell it.
func (p stroll) stands(random *rand.Rand, until float64) (stands []Stand) {
	for i := 1; i < len(p.v); i++ {
		from, to := p.v[i-1]+random.Float64()/2, p.v[i]-random.Float64()/2
		if p.d[i] == p.d[i-1] && to <= until && random.Intn(10) > 0 {
			stands = append(stands, Stand{timecode.VideoSeconds(from), timecode.VideoSeconds(to)})
		}
	}
	return stands
}

// rarePush goes on for 8 to 28 s and stands for 3 to 9 s, again and again: where
// the camera stands half of the time, times alone tell next to nothing.
func rarePush(random *rand.Rand, until float64) stroll {
	p := stroll{[]float64{0}, []float64{0}}
	for v, d := 0.0, 0.0; v < until; {
		v, d = v+8+random.Float64()*20, d+2+random.Float64()*3
		p.v, p.d = append(p.v, v), append(p.d, d)
		v += 3 + random.Float64()*6
		p.v, p.d = append(p.v, v), append(p.d, d)
	}
	return p
}

// timedLog is a log of times alone, written give or take noise seconds.
func timedLog(random *rand.Rand, began timecode.Log, rows int, noise float64, seen func() float64) (*fieldlog.Log, []float64) {
	log := &fieldlog.Log{}
	var truth []float64
	for i := range rows {
		v := seen()
		truth = append(truth, v)
		log.Rows = append(log.Rows, writtenAt(fieldlog.Row{}, i+1, began+timecode.LogSeconds(v+random.NormFloat64()*noise)))
	}
	return log, truth
}

func TestRowMovesToTheStandWithinItsUncertainty(t *testing.T) {
	random := rand.New(rand.NewSource(41))
	var were, are tally
	moved := 0
	for range 60 {
		push := randomPush(random, 600)
		s := sheetOf(t, startsAt("10:00:00"), lagOf(0))
		began := timecode.LogAt(time.Date(2026, 3, 2, 10, 0, 0, 0, s.Job.Zone))
		log, truth := timedLog(random, began, 6, 5, func() float64 { return push.looked(random, 590) })
		for i := range log.Rows {
			log.Rows[i].Time.Half = 10 * time.Second
		}
		in := Input{Sheet: s, Recording: recordingOf(600), Log: log}
		before := resolved(t, in)
		if !before.StandsWouldHelp() {
			t.Fatal("rows known to ten seconds wouldn't gain by stands")
		}
		in.Stands = push.stands(random, 600)
		after := resolved(t, in)
		for i, v := range truth {
			was, is := observation(t, before, i+1), observation(t, after, i+1)
			if is.Video.Sub(was.Video).Abs() > was.Uncertainty {
				t.Errorf("moved from %v to %v, beyond its ± %v", was.Video, is.Video, was.Uncertainty)
			}
			if is.Basis == ByDwell {
				moved++
				if !strings.Contains(words.Join(is.Why, words.Comma).String(), "the pictures stand still") {
					t.Errorf("it isn't said why: %q", is.Why)
				}
				were.add(math.Abs(was.Video.Seconds()-v), was.Uncertainty.Seconds())
				are.add(math.Abs(is.Video.Seconds()-v), is.Uncertainty.Seconds())
			}
		}
	}
	t.Logf("%d of 360 rows moved: off by %.1f s in the median, %.1f s before; the ± held in %.1f %%", moved, median(are.off), median(were.off), 100*are.share())
	if moved < 60 || median(are.off) > median(were.off) || are.share() < 0.9 {
		t.Errorf("%d of 360 rows moved: off by %.1f s in the median, %.1f s before; the ± held in %.1f %%", moved, median(are.off), median(were.off), 100*are.share())
	}
}

func TestStandsAreNotLookedForInVain(t *testing.T) {
	s := sheetOf(t, startsAt("10:00:00"), lagOf(0))
	in := Input{Sheet: s, Recording: recordingOf(100), Log: logOf(s, "time=10:00:20 & at=4.0 m")}
	if resolved(t, in).StandsWouldHelp() {
		t.Error("a row known to a second")
	}
	in.Readings = readingsOf(100, pushOf)
	in.Log = logOf(s, "time=10:00 & at=4.0 m")
	if resolved(t, in).StandsWouldHelp() {
		t.Error("a job whose track tells when the camera stood")
	}
}

// The stands alone may tell the log's clock; a person has to say yes to that.
func TestClockProposedByStands(t *testing.T) {
	random := rand.New(rand.NewSource(43))
	pushes := soak.Count(16, 60)
	proposed, gross := 0, 0
	for range pushes {
		push := rarePush(random, 900)
		s := sheetOf(t)
		began := timecode.LogAt(time.Date(2026, 3, 2, 9, 0, 0, 0, s.Job.Zone)) + timecode.LogSeconds(random.Float64()*7200)
		log, _ := timedLog(random, began, 20, 0.5, func() float64 { return push.looked(random, 890) })
		line := resolved(t, Input{Sheet: s, Recording: recordingOf(900), Log: log, Stands: push.stands(random, 900)})
		if line.Clock != nil || len(line.Observations) > 0 {
			t.Fatal("a proposal was applied")
		}
		w := warning(line, "clock-proposed")
		if w == nil {
			continue
		}
		proposed++
		_, face, _ := strings.Cut(w.Hint.String(), `starts = "`)
		at, err := time.ParseInLocation("2006-01-02 15:04:05", "2026-03-02 "+face[:8], s.Job.Zone)
		if err != nil {
			t.Fatal(err)
		}
		if timecode.LogAt(at).Sub(began).Abs() > 10*time.Second {
			gross++
		}
	}
	t.Logf("proposed for %d of %d pushes, %d of them off by more than 10 s", proposed, pushes, gross)
	if 2*proposed < pushes || gross > 0 {
		t.Errorf("proposed for %d of %d pushes, %d of them off by more than 10 s", proposed, pushes, gross)
	}
}

func TestStandsProposeNothingByChance(t *testing.T) {
	random := rand.New(rand.NewSource(47))
	pushes := soak.Count(16, 60)
	wrong := 0
	for range pushes {
		push, other := rarePush(random, 900), rarePush(random, 900)
		s := sheetOf(t)
		began := timecode.LogAt(time.Date(2026, 3, 2, 9, 0, 0, 0, s.Job.Zone))
		log, _ := timedLog(random, began, 20, 0.5, func() float64 { return other.looked(random, 890) })
		line := resolved(t, Input{Sheet: s, Recording: recordingOf(900), Log: log, Stands: push.stands(random, 900)})
		if warning(line, "clock-proposed") != nil {
			wrong++
		}
		few, _ := timedLog(random, began, 7, 0.5, func() float64 { return push.looked(random, 890) })
		line = resolved(t, Input{Sheet: s, Recording: recordingOf(900), Log: few, Stands: push.stands(random, 900)})
		if warning(line, "clock-proposed") != nil {
			t.Error("proposed from seven rows")
		}
	}
	if wrong > 1 {
		t.Errorf("%d of %d logs of another push were taken for this one's", wrong, pushes)
	}
}
