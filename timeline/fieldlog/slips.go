package fieldlog

import (
	"slices"
	"strings"

	"pushcue/timeline/distance"
	"pushcue/timeline/words"
)

// mostSlips are named one by one.
const mostSlips = 5

// slips notes what is readable but was hardly meant: rows that stand in the log twice,
// and distances along a pipe in single millimetres.
func (b *builder) slips() {
	var notes []words.Sentence
	for _, same := range b.repeats() {
		notes = append(notes, words.Tell("rows %s are the same word for word: if one slipped in twice, take it out", listed(same)))
	}
	const shortest = distance.Metres(0.1)
	for _, r := range b.log.Rows {
		if l := r.Distance; l != nil && l.Metres > 0 && l.Metres < shortest && strings.HasSuffix(strings.ToLower(trim(l.Text)), "mm") {
			notes = append(notes, words.Tell("row %d lies at %s: if metres were meant, write them with m", r.Number, l.Text))
		}
	}
	if more := len(notes) - mostSlips; more > 0 {
		notes = append(notes[:mostSlips], words.Tell("%d more rows look like slips of this kind", more))
	}
	b.log.Notes = append(b.log.Notes, notes...)
}

// repeats are the numbers of rows that hold the same, of each group together.
func (b *builder) repeats() (groups [][]int) {
	at := map[string]int{}
	for _, r := range b.log.Rows {
		key := strings.TrimSpace(strings.Join(r.Cells, "\x00"))
		if strings.Trim(key, "\x00 ") == "" {
			continue
		}
		g, known := at[key]
		if !known {
			at[key] = len(groups)
			groups = append(groups, []int{r.Number})
			continue
		}
		groups[g] = append(groups[g], r.Number)
	}
	return slices.DeleteFunc(groups, func(g []int) bool { return len(g) < 2 })
}

// listed are numbers as one says them: 1, 4 and 7.
func listed(numbers []int) words.Sentence {
	parts := make([]words.Sentence, len(numbers))
	for i, n := range numbers {
		parts[i] = words.Plain("%d", n)
	}
	last := len(parts) - 1
	return words.Join([]words.Sentence{words.Join(parts[:last], words.Comma), parts[last]}, words.Tell(" and "))
}
