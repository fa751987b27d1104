package main

import (
	"fmt"
	"slices"
	"strings"

	"pushcue/internal/placing"
)

// belongings tells which rows the spoken notes and the photos were joined to, one line
// each; those that belong to no row are warned about elsewhere.
func belongings(p *placing.Placed) []string {
	var lines []string
	for _, a := range slices.Concat(p.Spoken, p.Photos) {
		if len(a.Rows) == 0 {
			continue
		}
		rows := make([]string, len(a.Rows))
		for i, r := range a.Rows {
			rows[i] = fmt.Sprint(r)
		}
		word := "row "
		if len(rows) > 1 {
			word = "rows "
		}
		lines = append(lines, a.Name+" belongs to "+word+strings.Join(rows, ", "))
	}
	return lines
}

// belongingsOf tells what was spoken and photographed of one row.
func belongingsOf(p *placing.Placed, row int) []string {
	var lines []string
	for what, all := range map[string][]placing.Attached{"Spoken": p.Spoken, "Photographed": p.Photos} {
		for _, a := range all {
			if slices.Contains(a.Rows, row) {
				lines = append(lines, what+": "+a.Name+".")
			}
		}
	}
	slices.Sort(lines)
	return lines
}
