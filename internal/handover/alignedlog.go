package handover

import (
	"bytes"
	"context"
	"encoding/csv"
	"strconv"
	"strings"

	"pushcue/internal/shelf"
	"pushcue/timeline"
	"pushcue/timeline/wording"
	"pushcue/timeline/words"
)

const logName = "log.csv"

// alignedLog is the firm's own log with what placing found beside each row.
type alignedLog struct {
	*making
	plansNothing
	joinsNothing
	entersNothing
}

func (a *alignedLog) finish(ctx context.Context) error {
	log := a.placed.Timeline.Log
	if log == nil || len(log.Header) == 0 {
		return nil
	}
	text, err := logText(a.logShown(), a.lang)
	if err != nil {
		return err
	}
	if !a.wants["log"] {
		_, err := a.shelf.Has(ctx, logName, shelf.SumOf(text))
		return err
	}
	return a.shelf.Text(ctx, logName, text)
}

// logText is the log as a spreadsheet opens it with a double click: UTF-8 with a
// byte order mark, without which some take it for an old code page, and the
// log's own separator and decimal sign. A sheet's cells go apart by semicolons
// where the decimal sign is a comma.
func logText(t *timeline.Timeline, lang *words.Language) ([]byte, error) {
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
	said := wording.In(lang, t)
	header := append(harmlessCells(t.Log.Header), said.LogHeader()...)
	corrected := hasCorrections(t.Log)
	if corrected {
		header = append(header, lang.Say("aligned-corrected"))
	}
	if err := w.Write(header); err != nil {
		return nil, err
	}
	placed := map[int]*timeline.Observation{}
	for i := range t.Observations {
		placed[t.Observations[i].Row] = &t.Observations[i]
	}
	for _, row := range t.Log.Rows {
		cells := harmlessCells(ownCells(t.Log, row))
		for len(cells) < len(t.Log.Header) {
			cells = append(cells, "")
		}
		cells = append(cells[:len(t.Log.Header)], said.LogCells(placed[row.Number], decimal)...)
		if corrected {
			cells = append(cells, harmless(corrections(t.Log, row, lang.Say)))
		}
		if err := w.Write(cells); err != nil {
			return nil, err
		}
	}
	w.Flush()
	return b.Bytes(), w.Error()
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
