package timeline

import (
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
)

// A homecoming is a job drawn at random, as it comes home: written in the words
// of a job sheet and a log, with the truth beside it.
//
// What is drawn, and how (common practice, no published source): 1 to 4 parts of
// 5 min to 2 h together, 5 s to 30 min between them, in one job of ten a pause
// inside a part as well. The log's clock is a minute to six hours off and drifts
// by 50 ppm, one standard deviation, against the recorder's. Rows are written to
// the tenth, the second or the minute, one habit a job. Of ten jobs seven are
// tied by 2 to 6 anchors anywhere in the recording, rows of the log or moments
// noted to a habit of their own; one and a half by the known start, and as many
// give the recording's own time in each row. One anchored job of four is placed
// by somebody who is 0.1 s off in finding each moment, and one of twenty holds an
// anchor that is wrong by 5 s to an hour. Half of the recorders stamp their
// files, by a clock that may be anything, give or take a second. Rows are written at
// the very moment, and the sheet says so: it is the clocks that are judged here.
type homecoming struct {
	sheet, log string
	recording  Recording
	truth      []float64 // by row, seconds of recording

	tied     string  // "anchors", "start" or "video"
	habit    float64 // of rows, seconds
	noted    float64 // of anchors' log times, seconds
	anchors  int
	mistaken bool
	paused   bool
	sloppy   bool
}

// A passage is a stretch that was filmed without a break: the log's clock shows
// log at recording time from.
type passage struct{ from, to, log float64 }

func logUniform(r *rand.Rand, low, high float64) float64 {
	return math.Exp(math.Log(low) + r.Float64()*math.Log(high/low))
}

// oneOf draws an index by weights that sum to 1.
func oneOf(r *rand.Rand, weights ...float64) int {
	u := r.Float64()
	for i, w := range weights {
		if u -= w; u < 0 {
			return i
		}
	}
	return len(weights) - 1
}

func drawHomecoming(r *rand.Rand) *homecoming {
	h := &homecoming{habit: drawHabit(r)}
	rate := r.NormFloat64() * 50e-6
	passages := h.film(r, rate)
	shows := func(v float64) float64 {
		for _, p := range passages {
			if v < p.to {
				return p.log + (v-p.from)*(1+rate)
			}
		}
		panic("beyond the recording")
	}
	h.write(r, shows)
	return h
}

func drawHabit(r *rand.Rand) float64 { return []float64{0.1, 1, 60}[oneOf(r, 0.2, 0.5, 0.3)] }

// film draws the recording, in whole frames at 25 a second.
func (h *homecoming) film(r *rand.Rand, rate float64) (passages []passage) {
	parts := 1 + oneOf(r, 0.5, 0.25, 0.15, 0.1)
	total := logUniform(r, 300, 7200)
	var lengths []float64
	var sum float64
	for range parts {
		lengths = append(lengths, 0.5+r.Float64())
		sum += lengths[len(lengths)-1]
	}
	h.paused = r.IntN(10) == 0
	pausedPart := r.IntN(parts)
	began := 8*3600 + r.Float64()*8*3600 // civil time of the first frame
	off := logUniform(r, 60, 6*3600) * float64(1-2*r.IntN(2))
	log := began + off
	v := 0.0
	for p := range lengths {
		lengths[p] = math.Round(lengths[p]*total/sum*25) / 25
		end := v + lengths[p]
		if h.paused && p == pausedPart {
			at := v + lengths[p]*(0.3+0.4*r.Float64())
			passages = append(passages, passage{v, at, log})
			log += (at-v)*(1+rate) + logUniform(r, 10, 1800)
			v = at
		}
		passages = append(passages, passage{v, end, log})
		log += (end-v)*(1+rate) + logUniform(r, 5, 1800)
		v = end
	}
	h.recording = recordingOf(lengths...)
	if r.IntN(2) == 0 { // the recorder stamps its files
		recorder := time.Date(2011+r.IntN(15), 1, 1, 0, 0, 0, 0, time.UTC)
		for p, part := range h.recording.Parts {
			for _, q := range passages {
				if math.Abs(q.from-part.Start.Seconds()) < 0.01 {
					at := recorder.Add(time.Duration((q.log - log + r.NormFloat64()) * 1e9))
					h.recording.Parts[p].Began = at.Truncate(time.Second)
				}
			}
		}
	}
	return passages
}

// clockText is what a clock of that resolution shows.
func clockText(seconds, resolution float64) string {
	tenths := int(math.Floor(seconds*10+1e-6)) % 864000
	if tenths < 0 {
		tenths += 864000
	}
	s := tenths / 10
	switch resolution {
	case 60:
		return fmt.Sprintf("%02d:%02d", s/3600, s/60%60)
	case 1:
		return fmt.Sprintf("%02d:%02d:%02d", s/3600, s/60%60, s%60)
	}
	return fmt.Sprintf("%02d:%02d:%02d.%d", s/3600, s/60%60, s%60, tenths%10)
}

// playerText is what a player shows at v.
func playerText(v, resolution float64) string {
	tenths := int(math.Floor(v*10 + 1e-6))
	s := tenths / 10
	if resolution == 1 {
		return fmt.Sprintf("%d:%02d:%02d", s/3600, s/60%60, s%60)
	}
	return fmt.Sprintf("%d:%02d:%02d.%d", s/3600, s/60%60, s%60, tenths%10)
}

// write draws what was written: the log, and the sheet that ties it.
func (h *homecoming) write(r *rand.Rand, shows func(v float64) float64) {
	end := h.recording.End.Seconds()
	moment := func() float64 { return math.Floor(r.Float64()*end*25) / 25 }
	sheet := &strings.Builder{}
	sheet.WriteString("[job]\ndate = 2026-03-02\nzone = \"Europe/Lisbon\"\n[log]\nlag = \"0s\"\n")
	h.tied = []string{"anchors", "start", "video"}[oneOf(r, 0.7, 0.15, 0.15)]
	rows := 5 + r.IntN(16)
	for range rows {
		h.truth = append(h.truth, moment())
	}
	slices.Sort(h.truth)
	shown := []float64{0.1, 1}[r.IntN(2)] // of the player
	log := &strings.Builder{}
	log.WriteString("time,video,what\n")
	for _, v := range h.truth {
		if h.tied == "video" {
			fmt.Fprintf(log, ",%s,roots\n", playerText(v, shown))
		} else {
			fmt.Fprintf(log, "%s,,roots\n", clockText(shows(v), h.habit))
		}
	}
	h.log = log.String()
	switch h.tied {
	case "start":
		h.noted = drawHabit(r)
		fmt.Fprintf(sheet, "[recording]\nstarts = %q\n", clockText(shows(0), h.noted))
	case "video":
		h.habit = shown
	case "anchors":
		h.tie(r, sheet, shows, shown)
	}
	h.sheet = sheet.String()
}

func (h *homecoming) tie(r *rand.Rand, sheet *strings.Builder, shows func(v float64) float64, shown float64) {
	h.anchors = 2 + r.IntN(5)
	h.mistaken = r.IntN(20) == 0
	h.sloppy = r.IntN(4) == 0
	wrong := r.IntN(h.anchors)
	byRow := r.IntN(2) == 0
	if h.noted = drawHabit(r); byRow {
		h.noted = h.habit
	}
	end := h.recording.End.Seconds()
	for i, row := range r.Perm(len(h.truth))[:min(h.anchors, len(h.truth))] {
		v := h.truth[row]
		if !byRow {
			v = math.Floor(r.Float64()*end*25) / 25
		}
		found, log := v, shows(v)
		if h.sloppy {
			found = min(max(0, v+0.1*r.NormFloat64()), end-0.1)
		}
		if h.mistaken && i == wrong {
			by := logUniform(r, 5, 3600) * float64(1-2*r.IntN(2))
			if byRow {
				found = min(max(0, found+by), end-0.1)
			}
			log += by
		}
		if byRow {
			fmt.Fprintf(sheet, "[[anchor]]\nrow = %d\nvideo = %q\n", row+1, playerText(found, shown))
		} else {
			fmt.Fprintf(sheet, "[[anchor]]\nlog = %q\nvideo = %q\n", clockText(log, h.noted), playerText(found, shown))
		}
	}
}

// resolve reads sheet and log and places the rows.
func (h *homecoming) resolve(t testing.TB) (*Timeline, error) {
	return Resolve(t.Context(), inputOf(t, h.sheet, h.log, h.recording))
}

// inputOf reads a job sheet and a log as people write them.
func inputOf(t testing.TB, sheet, log string, recording Recording) Input {
	t.Helper()
	s, err := jobsheet.Read(jobsheet.Sources{Job: &jobsheet.Source{File: "job.toml", Data: []byte(sheet)}})
	if err != nil {
		t.Fatalf("%v in\n%s", err, sheet)
	}
	l, err := fieldlog.Read(t.Context(), strings.NewReader(log), fieldlog.Options{
		File: "log.csv", Date: timecode.Date(s.Job.Date), Zone: s.Job.Zone})
	if err != nil || len(l.Faults) > 0 {
		t.Fatalf("%v, %v in\n%s", err, l.Faults, log)
	}
	return Input{Sheet: s, Log: l, Recording: recording}
}

// off is how far an observation is from the truth, in seconds.
func (h *homecoming) off(o Observation) float64 {
	return math.Abs(o.Video.Seconds() - h.truth[o.Row-1])
}

// families are the kinds of job that an observation counts for.
func (h *homecoming) families(o Observation) []string {
	to := map[float64]string{0.1: "tenth", 1: "second", 60: "minute"}
	names := []string{"tied by " + h.tied}
	if h.paused {
		names = append(names, "paused inside a part")
	}
	if h.tied == "video" {
		return append(names, "recording's own time to the "+to[h.habit])
	}
	names = append(names, fmt.Sprintf("%s to the %s, rows to the %s", h.tied, to[h.noted], to[h.habit]))
	if h.tied != "anchors" {
		return names
	}
	names = append(names, fmt.Sprintf("%d anchors", h.anchors))
	switch {
	case o.Basis == ByFileTime:
		names = append(names, "part without an anchor, by its file's time")
	case h.mistaken:
		names = append(names, "one anchor wrong")
	case h.sloppy:
		names = append(names, "anchors found 0.1 s off")
	case !h.paused:
		names = append(names, "anchors all right, no pause")
	}
	return names
}

func sortedKeys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }
