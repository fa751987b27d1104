package fieldlog

import (
	"fmt"
	"time"

	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// twice settles the hour that comes twice when summer time ends, by the order of the
// rows: within it time goes on, so a step back is the change; and a push isn't
// interrupted for an hour. What that leaves open is asked for.
func (b *builder) twice(all []stamp) {
	var doubles []int // those with two instants
	for i, s := range all {
		if len(s.instant) == 2 {
			doubles = append(doubles, i)
		}
	}
	if len(doubles) == 0 {
		return
	}
	// A cut parts the doubles: those before it are the first hour's, the others the second's.
	cuts := []int{len(doubles), 0}
	for n := 1; n < len(doubles) && len(cuts) < 66; n++ {
		if back(all[doubles[n-1]].instant[0], all[doubles[n]].instant[0]) {
			cuts = append(cuts, n)
		}
	}
	best, second := cuts[0], -1
	for _, cut := range cuts[1:] {
		switch c := compare(all, doubles, cut, best); {
		case c < 0:
			best, second = cut, -1
		case c == 0:
			second = cut
		}
	}
	if second >= 0 {
		b.askHour(all[doubles[0]])
		return
	}
	for n, i := range doubles {
		all[i].instant = all[i].instant[which(n, best):][:1]
	}
	b.log.Notes = append(b.log.Notes, words.Tell("summer time ended during the log: by the order of the rows, %d of its times lie in the first of the two equal hours and %d in the second", best, len(doubles)-best))
}

// back reports whether a time lies before the one above it by more than rows are
// written out of order (common practice, no published source).
func back(above, t time.Time) bool {
	const outOfOrder = 5 * time.Minute
	return above.Sub(t) > outOfOrder
}

// which is the instant that the nth double takes under a cut.
func which(n, cut int) int {
	if n < cut {
		return 0
	}
	return 1
}

// compare tells which of two cuts makes the better sequence: negative for a. Fewer
// steps back win, then the shorter longest silence, where it differs by half an hour.
func compare(all []stamp, doubles []int, a, b int) int {
	backA, gapA := judge(all, doubles, a)
	backB, gapB := judge(all, doubles, b)
	switch {
	case backA != backB:
		return backA - backB
	case gapA <= gapB-30*time.Minute:
		return -1
	case gapB <= gapA-30*time.Minute:
		return 1
	}
	return 0
}

func judge(all []stamp, doubles []int, cut int) (backs int, gap time.Duration) {
	var last time.Time
	n := 0
	for i, s := range all {
		if len(s.instant) == 0 {
			continue
		}
		t := s.instant[0]
		if n < len(doubles) && doubles[n] == i {
			t = s.instant[which(n, cut)]
			n++
		}
		if !last.IsZero() {
			if back(last, t) {
				backs++
			}
			gap = max(gap, t.Sub(last))
		}
		last = t
	}
	return backs, gap
}

// askHour asks which of two equal hours was meant.
func (b *builder) askHour(s stamp) {
	first, second := s.instant[0], s.instant[1]
	f := b.faultAt(s.row, b.at["time"], s.value)
	f.Text = words.Tell("this hour comes twice that night: it can be %s or %s", first.Format("15:04 -07:00"), second.Format("15:04 -07:00"))
	f.Hint = words.Tell("write the offset into the cell: %s   or   %s; or under [job] in job.toml write zone = %q   or   zone = %q", offsetText(s.value, first), offsetText(s.value, second), fixedZone(first), fixedZone(second))
	for _, t := range []time.Time{first, second} {
		f.Choices = append(f.Choices, fault.Choice{Label: words.Plain("%s", t.Format("15:04 -07:00")), Key: "job.zone", Value: fixedZone(t)})
	}
	b.fatal = append(b.fatal, f)
}

// fixedZone is the name of the zone that always has t's offset; its sign runs the
// other way (IANA time zone database, file etcetera).
func fixedZone(t time.Time) string {
	_, seconds := t.Zone()
	if seconds == 0 {
		return "Etc/GMT"
	}
	return fmt.Sprintf("Etc/GMT%+d", -seconds/3600)
}
