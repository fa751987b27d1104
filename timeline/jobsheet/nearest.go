package jobsheet

import "strings"

// nearest finds the word that a misspelt one was most likely meant to be; "" when
// none is near.
func nearest[S ~string](written string, known []S) S {
	written = strings.ToLower(written)
	var best S
	least := 1 + max(1, len(written)/3)
	if len(written) > 40 {
		return best
	}
	for _, k := range known {
		if d := edits(written, string(k)); d < least {
			best, least = k, d
		}
	}
	return best
}

// edits counts the letters to insert, delete, change or swap with a neighbour to
// turn a into b (optimal string alignment).
func edits(a, b string) int {
	before, last, row := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		for j := 1; j <= len(b); j++ {
			change := last[j-1]
			if a[i-1] != b[j-1] {
				change++
			}
			row[j] = min(last[j]+1, row[j-1]+1, change)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(b)]
}
