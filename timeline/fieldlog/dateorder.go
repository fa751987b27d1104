package fieldlog

import (
	"slices"
	"time"

	"pushcue/timeline/fault"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// order settles what 01/02/2026 means, and reads the dates again by it.
func (b *builder) order(all []stamp) {
	if b.o.Dates != "" {
		b.log.Dialect.Dates = string(b.o.Dates)
		return
	}
	first := -1
	for i, s := range all {
		if len(dates(s.readings)) > 1 {
			first = i
			break
		}
	}
	candidates := []timecode.DateOrder{timecode.DMY, timecode.MDY}
	if first < 0 {
		if !b.yearFirst(all) {
			return
		}
		candidates = []timecode.DateOrder{timecode.YMD}
	}
	candidates = b.settleOrder(all, candidates)
	if len(candidates) > 1 {
		b.askOrder(all, all[first])
		return
	}
	b.log.Dialect.Dates = string(candidates[0])
	for i := range all {
		if all[i].err != nil || len(dates(all[i].readings)) > 0 {
			all[i].readings, all[i].err = timecode.ParseClock(all[i].text, candidates[0])
		}
	}
}

// yearFirst tells dates like 26/03/02, which read day first would be years off while
// read year first they are the job's.
func (b *builder) yearFirst(all []stamp) bool {
	if b.o.Date.IsZero() {
		return false
	}
	return b.nearJob(all, "") == 0 && b.nearJob(all, timecode.YMD) > 0
}

// nearJob counts the dates that lie within a day of the job's, read in that order.
func (b *builder) nearJob(all []stamp, order timecode.DateOrder) (n int) {
	job := time.Date(b.o.Date.Year, b.o.Date.Month, b.o.Date.Day, 0, 0, 0, 0, time.UTC)
	for _, s := range all {
		for _, d := range dates(reread(s, order)) {
			off := time.Date(d.Year, d.Month, d.Day, 0, 0, 0, 0, time.UTC).Sub(job)
			if off.Abs() <= 24*time.Hour {
				n++
				break
			}
		}
	}
	return n
}

// reread reads a stamp's date in that order.
func reread(s stamp, order timecode.DateOrder) []timecode.Written {
	if undated := s.err == nil && len(dates(s.readings)) == 0; order == "" || undated {
		return s.readings
	}
	readings, _ := timecode.ParseClock(s.text, order)
	return readings
}

func dates(readings []timecode.Written) (ds []timecode.Date) {
	for _, w := range readings {
		if d := (timecode.Date{Year: w.Year, Month: w.Month, Day: w.Day}); !d.IsZero() && !slices.Contains(ds, d) {
			ds = append(ds, d)
		}
	}
	return ds
}

// settleOrder keeps the orders that the rest allows: every date is one, most lie at
// the job's date, the rows go forward, and a push doesn't take weeks.
func (b *builder) settleOrder(all []stamp, orders []timecode.DateOrder) []timecode.DateOrder {
	keep := func(better func(timecode.DateOrder) int) {
		if len(orders) < 2 {
			return
		}
		best := 0
		for i, o := range orders {
			if v := better(o); i == 0 || v > best {
				best = v
			}
		}
		orders = slices.DeleteFunc(slices.Clone(orders), func(o timecode.DateOrder) bool { return better(o) < best })
	}
	keep(func(o timecode.DateOrder) (readable int) {
		for _, s := range all {
			if len(reread(s, o)) > 0 {
				readable++
			}
		}
		return readable
	})
	if !b.o.Date.IsZero() {
		keep(func(o timecode.DateOrder) int { return b.nearJob(all, o) })
	}
	keep(func(o timecode.DateOrder) int { return -backSteps(all, o) })
	keep(func(o timecode.DateOrder) int {
		if span(all, o) > 14*24*time.Hour {
			return 0
		}
		return 1
	})
	return orders
}

// backSteps counts the rows that lie before the one above them.
func backSteps(all []stamp, order timecode.DateOrder) (n int) {
	var last time.Time
	for _, s := range all {
		t, dated := civil(reread(s, order))
		if dated && !last.IsZero() && t.Before(last) {
			n++
		}
		if dated {
			last = t
		}
	}
	return n
}

func span(all []stamp, order timecode.DateOrder) time.Duration {
	var first, last time.Time
	for _, s := range all {
		t, dated := civil(reread(s, order))
		if !dated {
			continue
		}
		if first.IsZero() || t.Before(first) {
			first = t
		}
		if t.After(last) {
			last = t
		}
	}
	return last.Sub(first)
}

func civil(readings []timecode.Written) (time.Time, bool) {
	if len(readings) == 0 || readings[0].Form != timecode.DateTime {
		return time.Time{}, false
	}
	w := readings[0]
	return time.Date(w.Year, w.Month, w.Day, 0, 0, 0, 0, time.UTC).Add(w.Since), true
}

// askOrder asks what a date means that nothing settles.
func (b *builder) askOrder(all []stamp, s stamp) {
	alike := -1
	for _, other := range all {
		if len(dates(other.readings)) > 1 {
			alike++
		}
	}
	say := func(order timecode.DateOrder) words.Sentence {
		d := dates(reread(s, order))[0]
		return words.Tell("%d %s %d", d.Day, d.Month, d.Year)
	}
	column := b.at["time"]
	value := s.value
	if date := b.at.at("date"); date >= 0 && !b.t.records[s.row].at(date).blank() {
		column, value = date, b.t.records[s.row].at(date).text
	}
	f := b.faultAt(s.row, column, value)
	f.Text = andMore(words.Tell("this date can be %s or %s", say(timecode.DMY), say(timecode.MDY)), alike)
	f.Hint = words.Tell(`under [log] in job.toml write dates = "dmy" for %s   or   dates = "mdy" for %s`, say(timecode.DMY), say(timecode.MDY))
	for _, order := range []timecode.DateOrder{timecode.DMY, timecode.MDY} {
		f.Choices = append(f.Choices, fault.Choice{Label: say(order), Key: "log.dates", Value: string(order)})
	}
	b.fatal = append(b.fatal, f)
}

// andMore adds to what is wrong with a cell how many more are like it.
func andMore(text words.Sentence, n int) words.Sentence {
	switch n {
	case 0:
		return text
	case 1:
		return words.Tell("%s; one more cell is like this", text)
	}
	return words.Tell("%s; %d more cells are like this", text, n)
}
