package placingset

import (
	"fmt"
	"math"
	"strings"
	"time"
)

// tie draws what ties the log's clock to the recording, if anything does.
func (d *drawing) tie(sheet *strings.Builder, lines []line) {
	anchors := 0
	switch d.of(0.4, 0.08, 0.08, 0.18, 0.14, 0.12) {
	case 0:
		d.Tie = "nothing"
	case 1:
		d.Tie = "start"
		fmt.Fprintf(sheet, "[recording]\nstarts = %q\n", d.clock(d.shows(0), d.Resolution, false))
	case 2:
		d.Tie = "file time"
		d.stamp()
	case 3:
		d.Tie, anchors = "1 anchor", 1
	case 4:
		d.Tie, anchors = "2 anchors", 2
	case 5:
		d.Tie, anchors = "3 or 4 anchors", 3+d.IntN(2)
	}
	if anchors == 0 {
		return
	}
	wrong := -1
	if d.Wrong = d.chance(0.12); d.Wrong {
		wrong = d.IntN(anchors)
	}
	// A watch held before the camera, or a row whose moment somebody found again.
	byRow := d.chance(0.3)
	watch := []string{"tenth", "second", "minute"}[d.of(0.2, 0.6, 0.2)]
	end := d.Recording.End.Seconds()
	used := map[int]bool{}
	for i := range anchors {
		v := d.between(0, end-1)
		key, value := "log", fmt.Sprintf("%q", d.clock(d.shows(v), watch, false))
		if byRow {
			row := d.IntN(len(lines))
			if !lines[row].Timed || used[row] {
				continue
			}
			used[row] = true
			v, key, value = lines[row].Seen, "row", fmt.Sprint(row+1)
		}
		found := v + 0.15*d.NormFloat64()
		if i == wrong {
			found += d.spread(15, 900) * float64(1-2*d.IntN(2))
		}
		found = min(max(0, found), end-0.2)
		fmt.Fprintf(sheet, "[[anchor]]\n%s = %s\nvideo = \"%d:%04.1f\"\n", key, value, int(found)/60, math.Mod(math.Floor(found*10)/10, 60))
	}
	if len(used) == 0 && byRow {
		d.Tie, d.Wrong = "nothing", false
	}
}

// stamp gives the files times of a recorder's clock: now and then years off.
func (d *drawing) stamp() {
	ahead := 20 * d.NormFloat64()
	if d.chance(0.3) {
		ahead = -86400 * d.between(300, 5000)
	}
	offset := time.Hour // Lisbon's summer time
	midnight := time.Date(2026, 5, 19, 0, 0, 0, 0, time.UTC)
	if d.Night && d.began < 7200 {
		midnight = time.Date(2026, 10, 25, 0, 0, 0, 0, time.UTC)
	}
	for i := range d.Recording.Parts {
		p := &d.Recording.Parts[i]
		began := midnight.Add(-offset).Add(time.Duration((d.shows(p.Start.Seconds()+0.001) + ahead) * 1e9))
		p.Began = began.Truncate(time.Second)
	}
}
