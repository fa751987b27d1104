package fieldlog

import (
	"archive/zip"
	"bufio"
	"context"
	"errors"
	"io"
	"strings"

	"pushcue/timeline/words"
)

// Limits of what a sheet may unpack to. The rows of 10,000 observations take about
// 5 MiB; pictures pasted beside them take more.
const (
	mostUnpacked = 64 << 20
	mostXML      = 16 << 20
	mostParts    = 2000
	deepestXML   = 200
)

var errDeep = words.Errorf("nested too deeply")

// bounded looks at the archive before the library unpacks it: a small file can claim to
// hold gigabytes, or hold them without claiming it, or nest its parts without end.
func bounded(ctx context.Context, r io.ReaderAt, size int64, file string) error {
	damaged := refuse(file, 0, words.Tell("the file is a damaged sheet or archive"), words.Tell("open it in the spreadsheet and save it again"))
	z, err := zip.NewReader(r, size)
	if err != nil {
		return damaged
	}
	var total, xml uint64
	book := false
	for _, part := range z.File {
		total += min(part.UncompressedSize64, mostUnpacked+1)
		if isXML(part.Name) {
			xml += min(part.UncompressedSize64, mostXML+1)
		}
		if total > mostUnpacked || xml > mostXML || len(z.File) > mostParts {
			return refuse(file, 0, words.Tell("the file unpacks to more than %d MiB of rows or %d MiB in all, which no log of a push does", mostXML>>20, mostUnpacked>>20),
				words.Tell("save the log's sheet alone, as .xlsx or CSV"))
		}
		book = book || strings.EqualFold(part.Name, "xl/workbook.xml")
	}
	if !book {
		return refuse(file, 0, words.Tell("the file is an archive, not a log"), words.Tell("unpack it first; a sheet must be .xlsx"))
	}
	for _, part := range z.File {
		if err := ctx.Err(); err != nil {
			return err
		}
		if isXML(part.Name) && shallow(part) != nil {
			return damaged
		}
	}
	return nil
}

func isXML(name string) bool {
	name = strings.ToLower(name)
	return strings.HasSuffix(name, ".xml") || strings.HasSuffix(name, ".rels") || strings.HasSuffix(name, ".vml")
}

// shallow reads a part to its end, which fails where it is longer than it claims, and
// counts how deep its elements stand in each other.
func shallow(part *zip.File) error {
	body, err := part.Open()
	if err != nil {
		return err
	}
	defer body.Close()
	r := bufio.NewReaderSize(body, 64<<10)
	var d depth
	for {
		b, err := r.ReadByte()
		switch {
		case errors.Is(err, io.EOF):
			return nil
		case err != nil:
			return err
		}
		if d.next(b) > deepestXML {
			return errDeep
		}
	}
}

// depth counts the elements that are open, byte by byte. Comments, CDATA and
// processing instructions are passed over, since what they hold is no element. A
// document type counts as endless: sheets may hold none (ECMA-376 part 2, from memory).
type depth struct {
	open  int
	tail  [4]byte // the last bytes seen
	tag   bool    // inside <…>
	quote byte    // inside an attribute's value
	until string  // inside what ends with this
}

func (d *depth) next(b byte) int {
	last := d.tail[3]
	d.tail = [4]byte{d.tail[1], d.tail[2], last, b}
	switch {
	case d.until != "":
		if strings.HasSuffix(string(d.tail[:]), d.until) {
			d.until = ""
		}
	case d.tag && d.quote != 0:
		if b == d.quote {
			d.quote = 0
		}
	case d.tag && (b == '"' || b == '\''):
		d.quote = b
	case string(d.tail[:]) == "<!--":
		d.until, d.tail = "-->", [4]byte{}
	case string(d.tail[1:]) == "<![":
		d.until = "]]>"
	case string(d.tail[1:3]) == "<!" && b != '-':
		d.open += deepestXML + 1
	case last == '<' && b == '?':
		d.until, d.tail = "?>", [4]byte{}
	case last == '<' && b == '/':
		d.open--
	case last == '<' && b != '!':
		d.open, d.tag = d.open+1, true
	case d.tag && b == '>':
		if last == '/' {
			d.open--
		}
		d.tag = false
	}
	return d.open
}
