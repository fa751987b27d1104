package main

import (
	"cmp"
	"fmt"
	"io"
	"strings"

	"github.com/mattn/go-runewidth"

	"pushcue/timeline"
	"pushcue/timeline/wording"
	"pushcue/timeline/words"
)

// tableWidth is the narrowest terminal still met.
const tableWidth = 80

// aTable lines up columns by the width that characters take on a terminal. The
// second column gives way where a line would be too long.
type aTable struct {
	rows  [][]string
	right []bool // columns that are flush right
}

const givingWay = 1

func (t *aTable) add(cells ...string) { t.rows = append(t.rows, cells) }

func (t *aTable) write(w io.Writer) error {
	widths := t.widths()
	for _, row := range t.rows {
		var line strings.Builder
		for i, cell := range row {
			if i > 0 {
				line.WriteString("  ")
			}
			cell = runewidth.Truncate(cell, widths[i], "…")
			gap := strings.Repeat(" ", widths[i]-runewidth.StringWidth(cell))
			if t.right[i] {
				line.WriteString(gap + cell)
			} else {
				line.WriteString(cell + gap)
			}
		}
		if _, err := fmt.Fprintln(w, strings.TrimRight(line.String(), " ")); err != nil {
			return err
		}
	}
	return nil
}

func (t *aTable) widths() []int {
	widths := make([]int, len(t.right))
	for _, row := range t.rows {
		for i, cell := range row {
			widths[i] = max(widths[i], runewidth.StringWidth(cell))
		}
	}
	total := 2 * (len(widths) - 1)
	for _, w := range widths {
		total += w
	}
	widths[givingWay] = max(8, widths[givingWay]-max(0, total-tableWidth))
	return widths
}

// placedTable shows where each observation was placed.
func placedTable(t *timeline.Timeline) *aTable {
	table := &aTable{right: []bool{true, false, true, true, true, true, false}}
	said := wording.In(words.English(), t)
	table.add("no", "what", "distance", "video", "true time", "±", "basis")
	for _, o := range t.Observations {
		table.add(
			fmt.Sprint(o.Number), oneLine(said.Name(&o)), cmp.Or(said.Where(&o), "–"), o.Video.String(),
			cmp.Or(said.ClockTime(&o), "–"), said.Around(&o), basisOf(o),
		)
	}
	return table
}

func basisOf(o timeline.Observation) string {
	basis := string(o.Basis)
	if o.Unconfirmed {
		basis += ", unconfirmed"
	}
	if o.Hidden {
		basis += ", not shown"
	}
	return basis
}

// oneLine shows a cell on one line.
func oneLine(s string) string { return printable(strings.Join(strings.Fields(s), " ")) }
