package fieldlog

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"strings"

	"github.com/xuri/excelize/v2"

	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// loadSheet makes a table of the sheet that has a header.
func loadSheet(ctx context.Context, r io.ReaderAt, size int64, o Options, score scorer) (*table, error) {
	if size > mostBytes {
		return nil, refuse(o.File, 0, words.Tell("the file is larger than 64 MiB, which no log of a push is"), words.Sentence{})
	}
	if err := bounded(ctx, r, size, o.File); err != nil {
		return nil, err
	}
	book, err := open(io.NewSectionReader(r, 0, size))
	if err != nil {
		return nil, refuse(o.File, 0, words.Tell("the file can't be read as a sheet: it is damaged, locked or something else"), words.Tell("open it in the spreadsheet and save it again as .xlsx, or as CSV"))
	}
	defer book.Close()

	var found []*table
	var seen []record
	for _, name := range book.GetSheetList() {
		if visible, err := book.GetSheetVisible(name); err == nil && !visible {
			continue
		}
		records, err := readSheet(ctx, book, name, o.File)
		if err != nil {
			return nil, err
		}
		seen = append(seen, records[:min(len(records), 1)]...)
		if at, _ := headerAt(records, score); at >= 0 {
			t := &table{charset: "xlsx", sheet: name}
			t.from(records, at)
			found = append(found, t)
		}
	}
	return onlySheet(found, seen, o.File)
}

// onlySheet takes the one sheet that has a header; of several the one with rows.
func onlySheet(found []*table, seen []record, file string) (*table, error) {
	if len(found) == 0 {
		return nil, noHeader(file, seen)
	}
	var filled []*table
	for _, t := range found {
		if len(t.records) > 0 {
			filled = append(filled, t)
		}
	}
	switch len(filled) {
	case 0:
		return found[0], nil
	case 1:
		return filled[0], nil
	}
	var names []string
	for _, t := range filled {
		names = append(names, fmt.Sprintf("%q", t.sheet))
	}
	return nil, fault.Of(fault.Fault{File: file, Text: words.Tell("several sheets look like the log: %s", strings.Join(names, ", ")),
		Hint: words.Tell("hide or delete those that aren't, or save the one that is as CSV and name it under [log] in job.toml: file = \"log.csv\"")})
}

// open keeps a malformed workbook from ending the program.
func open(r io.Reader) (book *excelize.File, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = words.Errorf("malformed workbook: %v", p)
		}
	}()
	return excelize.OpenReader(r, excelize.Options{UnzipSizeLimit: mostUnpacked, UnzipXMLSizeLimit: mostUnpacked})
}

// readSheet reads the rows of one sheet that aren't blank.
func readSheet(ctx context.Context, book *excelize.File, name, file string) (records []record, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = refuse(file, 0, words.Tell("the file is a damaged sheet"), words.Tell("open it in the spreadsheet and save it again"))
		}
	}()
	// Two streams side by side: what a cell holds, and how the sheet shows it. Only
	// both together tell a date from a number.
	held, err := book.Rows(name)
	if err != nil {
		return nil, nil // a chart or macro sheet
	}
	defer held.Close()
	shown, err := book.Rows(name)
	if err != nil {
		return nil, nil
	}
	defer shown.Close()
	props, _ := book.GetWorkbookProps()
	epoch1904 := props.Date1904 != nil && *props.Date1904
	for line := 1; held.Next() && shown.Next(); line++ {
		if line%256 == 0 && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		raw, err := held.Columns(excelize.Options{RawCellValue: true})
		if err != nil {
			return nil, refuse(file, line, words.Tell("the file is a damaged sheet"), words.Tell("open it in the spreadsheet and save it again"))
		}
		texts, err := shown.Columns()
		if err != nil || len(texts) > len(raw) {
			return nil, refuse(file, line, words.Tell("the file is a damaged sheet"), words.Tell("open it in the spreadsheet and save it again"))
		}
		r := record{line: line, cells: make([]cell, len(raw))}
		for i := range raw {
			text := ""
			if i < len(texts) {
				text = texts[i]
			}
			r.cells[i] = sheetCell(raw[i], text, epoch1904)
		}
		if r.blank() {
			continue
		}
		if err := tooLarge(file, r, len(records)); err != nil {
			return nil, err
		}
		records = append(records, r)
	}
	return merge(book, name, records), nil
}

// merge gives every row of a merged block the value that a sheet keeps only in its
// first: two observations written beside one time.
func merge(book *excelize.File, name string, records []record) []record {
	merged := false
	book.Pkg.Range(func(_, part any) bool {
		text, _ := part.([]byte)
		merged = bytes.Contains(text, []byte("<mergeCell "))
		return !merged
	})
	if !merged { // asking for them would read the sheet once more
		return records
	}
	blocks, err := book.GetMergeCells(name, true)
	if err != nil {
		return records
	}
	byLine := make(map[int]int, len(records))
	for i, r := range records {
		byLine[r.line] = i
	}
	for _, b := range blocks {
		column, first, err1 := excelize.CellNameToCoordinates(b.GetStartAxis())
		_, last, err2 := excelize.CellNameToCoordinates(b.GetEndAxis())
		top, there := byLine[first]
		if err1 != nil || err2 != nil || !there || column > mostColumns {
			continue
		}
		value := records[top].at(column - 1)
		for i := top + 1; i < len(records) && records[i].line <= last; i++ {
			r := &records[i]
			for len(r.cells) < column {
				r.cells = append(r.cells, cell{})
			}
			r.cells[column-1] = value
		}
	}
	return records
}
