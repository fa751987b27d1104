package fieldlog

import "pushcue/timeline/words"

// nearestKind is the known word closest to a misspelt one, "" when none is close.
func nearestKind(text string, k *Kinds) string {
	text = listKey(text)
	if len(text) > 60 {
		return ""
	}
	best, most := "", max(1, len(text)/4)
	try := func(word string) {
		// Of two as close the longer: a letter is left out more often than mistaken.
		if d := edits(text, listKey(word), most); d > 0 && (d < most || d == most && len(word) > len(best)) {
			best, most = word, d
		}
	}
	if k != nil {
		for _, e := range k.Entries {
			try(e.Code)
			try(e.Words)
		}
	}
	for _, w := range words.KindWords() {
		try(w)
	}
	return best
}

// edits is the number of letters to change, add or leave out between two words, or
// more than most (Levenshtein's distance).
func edits(a, b string, most int) int {
	x, y := []rune(a), []rune(b)
	if len(x)-len(y) > most || len(y)-len(x) > most {
		return most + 1
	}
	row := make([]int, len(y)+1)
	for j := range row {
		row[j] = j
	}
	for i := range x {
		diagonal := row[0]
		row[0] = i + 1
		for j := range y {
			cost := diagonal
			if x[i] != y[j] {
				cost = 1 + min(diagonal, row[j], row[j+1])
			}
			diagonal, row[j+1] = row[j+1], cost
		}
	}
	return row[len(y)]
}
