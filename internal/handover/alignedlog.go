package handover

import (
	"bytes"
	"context"
	"encoding/csv"
	"strconv"
	"strings"

	"pushcue/timeline"
	"pushcue/timeline/distance"
	"pushcue/timeline/timecode"
)

const logName = "log.csv"

// writeLog writes the firm's own log with what placing found beside each row.
func (m *maker) writeLog(ctx context.Context) error {
	log := m.placed.Timeline.Log
	if log == nil || len(log.Header) == 0 {
		return nil
	}
	text, err := alignedLog(m.logShown(), m.lang.Say)
	if err != nil {
		return err
	}
	if !m.wants["log"] {
		_, err := m.folder.has(ctx, logName, sumOf(text))
		return err
	}
	return m.folder.text(ctx, logName, text)
}

// alignedLog is the log as a spreadsheet opens it with a double click: UTF-8 with a
// byte order mark, without which some take it for an old code page, and the
// log's own separator and decimal sign. A sheet's cells go apart by semicolons
// where the decimal sign is a comma.
func alignedLog(t *timeline.Timeline, say func(string, ...any) string) ([]byte, error) {
	d := t.Log.Dialect
	decimal := d.Decimal
	if decimal == 0 {
		decimal = '.'
	}
	separator := d.Separator
	if separator == 0 {
		separator = ','
		if decimal == ',' {
			separator = ';'
		}
	}
	var b bytes.Buffer
	b.WriteString("\ufeff")
	w := csv.NewWriter(&b)
	w.Comma, w.UseCRLF = separator, true
	unit := t.Sheet.Job.Units
	header := append(harmlessCells(t.Log.Header), "#",
		say("aligned-video"), say("aligned-true"), inUnit(say("aligned-distance"), unit), say("aligned-plusminus"))
	corrected := hasCorrections(t.Log)
	if corrected {
		header = append(header, say("aligned-corrected"))
	}
	if err := w.Write(header); err != nil {
		return nil, err
	}
	placed := map[int]timeline.Observation{}
	for _, o := range t.Observations {
		placed[o.Row] = o
	}
	for _, row := range t.Log.Rows {
		cells := harmlessCells(ownCells(t.Log, row))
		for len(cells) < len(t.Log.Header) {
			cells = append(cells, "")
		}
		o, ok := placed[row.Number]
		cells = append(cells[:len(t.Log.Header)], placedCells(o, ok, unit, decimal)...)
		if corrected {
			cells = append(cells, harmless(corrections(t.Log, row, say)))
		}
		if err := w.Write(cells); err != nil {
			return nil, err
		}
	}
	w.Flush()
	return b.Bytes(), w.Error()
}

// inUnit names the unit that the job shows lengths in; the words say metres.
func inUnit(header string, unit distance.Unit) string {
	return strings.Replace(header, "(m)", "("+string(unit)+")", 1)
}

// placedCells are the cells added to a row; empty ones where it has no place.
func placedCells(o timeline.Observation, ok bool, unit distance.Unit, decimal rune) []string {
	cells := make([]string, 5)
	if !ok {
		return cells
	}
	cells[0] = strconv.Itoa(o.Number)
	cells[1] = o.Video.Format(1)
	if o.TrueTime != nil {
		cells[2] = timecode.FormatTrue(*o.TrueTime)
	}
	if o.Distance != nil {
		cells[3], _, _ = strings.Cut(o.Distance.Format(unit, decimal), " ")
	}
	cells[4] = strings.Replace(strconv.FormatFloat(o.Uncertainty.Seconds(), 'f', 1, 64), ".", string(decimal), 1)
	return cells
}

func harmlessCells(cells []string) []string {
	out := make([]string, len(cells))
	for i, c := range cells {
		out[i] = harmless(c)
	}
	return out
}

// harmless keeps a spreadsheet from taking text for a formula. A number stays as
// it is, whatever sign it begins with.
func harmless(cell string) string {
	if cell == "" || !strings.ContainsRune("=+-@\t\r", rune(cell[0])) || isNumber(cell) {
		return cell
	}
	return "'" + cell
}

func isNumber(s string) bool {
	_, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(s), ",", ".", 1), 64)
	return err == nil && !strings.ContainsAny(s, "nNxX_pPiI")
}
