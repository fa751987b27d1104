package handover

import (
	"strings"

	"pushcue/timeline/fieldlog"
)

// hasCorrections tells a log of which people have said something afterwards.
func hasCorrections(log *fieldlog.Log) bool {
	for i := range log.Rows {
		if r := &log.Rows[i]; r.Added != "" || r.Aside || len(r.Corrected) > 0 {
			return true
		}
	}
	return false
}

// ownCells are a row's cells as the log has them. Of a row that the log doesn't have
// they are what a person gave, where a column is for it.
func ownCells(log *fieldlog.Log, row fieldlog.Row) []string {
	if row.Added == "" {
		return row.Cells
	}
	cells := make([]string, len(log.Header))
	for column, text := range given(row) {
		if i, there := log.Meaning[column]; there && i < len(cells) {
			cells[i] = text
		}
	}
	return cells
}

// corrections tells in one cell what a person gave of a row: the cells before it stay
// as they were written.
func corrections(log *fieldlog.Log, row fieldlog.Row, say func(string, ...any) string) string {
	var parts []string
	switch {
	case row.Aside:
		parts = append(parts, say("aligned-aside"))
	case row.Added != "":
		parts = append(parts, say("aligned-added"))
	}
	texts := given(row)
	for _, column := range row.Corrected {
		if column == "video" && row.Added != "" {
			continue // that is how it was added
		}
		name := column
		if i, there := log.Meaning[column]; there && i < len(log.Header) && log.Header[i] != "" {
			name = log.Header[i]
		}
		parts = append(parts, name+": "+texts[column])
	}
	return strings.Join(parts, " · ")
}

// given are the values of a row as a person typed them, by column.
func given(row fieldlog.Row) map[string]string {
	texts := map[string]string{}
	for _, column := range row.Corrected {
		texts[column] = row.Text(column)
	}
	return texts
}
