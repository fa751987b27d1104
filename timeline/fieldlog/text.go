package fieldlog

import (
	"bytes"
	"context"
	"errors"
	"io"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/htmlindex"
	"golang.org/x/text/encoding/unicode"

	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// slurp reads all of r, unless it is larger than any log or has a line longer than
// any log's. It gives up as soon as that shows.
func slurp(ctx context.Context, r io.Reader, file string) ([]byte, error) {
	var data []byte
	line, cell := 0, 0 // bytes since the last line end, and since the last separator
	chunk := make([]byte, 64<<10)
	for {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		n, err := r.Read(chunk)
		data = append(data, chunk[:n]...)
		if !isZip(data) {
			line, cell = runs(chunk[:n], line, cell)
		}
		switch {
		case len(data) > mostBytes:
			return nil, refuse(file, 0, words.Tell("the file is larger than 64 MiB, which no log of a push is"), words.Sentence{})
		case cell > mostCell+len(chunk) || line > mostLine+len(chunk):
			return nil, refuse(file, 0, words.Tell("the file has a line longer than any log's"), words.Tell("is it a log, and was it saved as text?"))
		}
		switch {
		case errors.Is(err, io.EOF):
			return data, notText(file, data)
		case err != nil:
			return nil, err
		}
	}
}

// runs tells how many bytes stand since the last line end and since the last
// separator at the end of chunk. Separators and line ends are the same bytes in
// every charset that logs come in.
func runs(chunk []byte, line, cell int) (int, int) {
	if i := bytes.LastIndexAny(chunk, "\n\r"); i >= 0 {
		line = len(chunk) - i
	} else {
		line += len(chunk)
	}
	if i := bytes.LastIndexAny(chunk, "\n\r,;\t|"); i >= 0 {
		cell = len(chunk) - i
	} else {
		cell += len(chunk)
	}
	return line, cell
}

func isZip(data []byte) bool { return bytes.HasPrefix(data, []byte("PK\x03\x04")) }

// notText refuses what is plainly something else.
func notText(file string, data []byte) error {
	known := []struct {
		magic      string
		text, hint words.Sentence
	}{
		{"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", words.Tell("the file is an old or locked spreadsheet (.xls), not a log"), words.Tell("open it in the spreadsheet and save it as .xlsx without a password, or as CSV")},
		{"%PDF", words.Tell("the file is a PDF, not a log"), words.Tell("type it up, or export it as CSV or .xlsx from where it was made")},
		{"{\\rtf", words.Tell("the file is a word processor's document, not a log"), words.Tell("save it as plain text")},
		{"\x1f\x8b", words.Tell("the file is packed (gzip), not a log"), words.Tell("unpack it first")},
		{"<!DOCTYPE", words.Tell("the file is a web page, not a log"), words.Tell("save it as CSV or .xlsx")},
		{"<html", words.Tell("the file is a web page, not a log"), words.Tell("save it as CSV or .xlsx")},
	}
	for _, k := range known {
		if bytes.HasPrefix(data, []byte(k.magic)) {
			return refuse(file, 0, k.text, k.hint)
		}
	}
	return nil
}

// refuse says in one sentence that a file can't be used.
func refuse(file string, line int, text, hint words.Sentence) error {
	return fault.Of(fault.Fault{File: file, Line: line, Text: text, Hint: hint})
}

// decode turns the file into UTF-8: by its byte order mark, as UTF-8 where it is
// that throughout, as UTF-16 where every other byte is zero, by the job's charset,
// else as Windows-1252, which is then a guess.
func decode(data []byte, o Options) (text, charset string, guessed bool, err error) {
	named, err := namedCharset(o)
	if err != nil {
		return "", "", false, err
	}
	var e encoding.Encoding
	switch body, found := bytes.CutPrefix(data, []byte("\xef\xbb\xbf")); {
	case found && utf8.Valid(body):
		data, charset = body, "utf-8"
	case bytes.HasPrefix(data, []byte("\xff\xfe")):
		e, charset = unicode.UTF16(unicode.LittleEndian, unicode.UseBOM), "utf-16le"
	case bytes.HasPrefix(data, []byte("\xfe\xff")):
		e, charset = unicode.UTF16(unicode.BigEndian, unicode.UseBOM), "utf-16be"
	case named != nil && !(o.beside && utf8.Valid(data)):
		e, charset = named, strings.ToLower(o.Charset)
	case zeros(data) == 1:
		e, charset = unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM), "utf-16le"
	case zeros(data) == 0:
		e, charset = unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM), "utf-16be"
	case utf8.Valid(data):
		charset = "utf-8"
	default:
		e, charset, guessed = charmap.Windows1252, "windows-1252", true
	}
	if e != nil {
		if data, err = e.NewDecoder().Bytes(data); err != nil {
			return "", "", false, refuse(o.File, 0, words.Tell("the file can't be read as %s", charset), words.Tell(`name its charset under [log] in job.toml: charset = "…"`))
		}
	}
	if i := bytes.IndexByte(data, 0); i >= 0 {
		return "", "", false, refuse(o.File, 1+bytes.Count(data[:i], []byte("\n")), words.Tell("holds bytes that no text has: it isn't a log"),
			words.Tell("give the log as text (CSV) or as a sheet (.xlsx)"))
	}
	return string(data), charset, guessed, nil
}

func namedCharset(o Options) (encoding.Encoding, error) {
	if o.Charset == "" {
		return nil, nil
	}
	e, err := htmlindex.Get(o.Charset)
	if err != nil {
		return nil, fault.Of(fault.Fault{File: o.File, Value: o.Charset, Text: words.Tell("no charset has this name"),
			Hint: words.Tell(`under [log] in job.toml write charset = "windows-1252", "utf-8", "iso-8859-1", "macintosh" …, or leave it out`)})
	}
	return e, nil
}

// zeros tells where the zero bytes of UTF-16 stand that lacks a mark: 1 at odd places
// (little end first), 0 at even ones, -1 where it isn't UTF-16.
func zeros(data []byte) int {
	head := data[:min(len(data), 4096)&^1]
	var count [2]int
	for i, b := range head {
		if b == 0 {
			count[i&1]++
		}
	}
	for place := range count {
		if count[place]*10 > len(head)/2*4 && count[1-place]*20 < len(head)/2 {
			return place
		}
	}
	return -1
}

// tooLong is the fault of a cell that no one wrote by hand.
func tooLong(file string, line int) error {
	return refuse(file, line, words.Tell("the file has a cell longer than %d KiB", mostCell>>10), words.Tell("is a quotation mark missing?"))
}
