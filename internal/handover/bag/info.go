package bag

import (
	"bufio"
	"bytes"
	"fmt"
	"strings"
	"unicode/utf8"
)

// text writes bag-info.txt: a label, a colon, a blank, the value. Line ends within
// a value are kept by folding, the next line starting with blanks; a line that would
// be longer than the 79 characters recommended is folded at a blank too (RFC 8493
// section 2.2.2).
func (in Info) text() []byte {
	const indent = "   "
	var b bytes.Buffer
	for _, f := range in {
		first := label(f.Label) + ": "
		var lines []string
		for _, line := range strings.FieldsFunc(f.Value, func(r rune) bool { return r == '\n' || r == '\r' }) {
			lines = append(lines, folded(line, longestLine-len(first))...)
		}
		fmt.Fprintf(&b, "%s%s\n", first, strings.Join(lines, "\n"+indent))
	}
	return b.Bytes()
}

const longestLine = 79

// folded breaks a line at blanks so that no part has more characters than most, where
// its words allow.
func folded(line string, most int) []string {
	var parts []string
	for utf8.RuneCountInString(line) > most {
		at := -1
		for i, n := 0, 0; i < len(line) && n <= most; n++ {
			if line[i] == ' ' && i > 0 {
				at = i
			}
			_, long := utf8.DecodeRuneInString(line[i:])
			i += long
		}
		if at < 0 {
			break
		}
		parts = append(parts, line[:at])
		line = strings.TrimLeft(line[at:], " ")
		if line == "" {
			return parts
		}
	}
	return append(parts, line)
}

// label keeps a label from ending early.
func label(s string) string {
	return strings.NewReplacer(":", " ", "\n", " ", "\r", " ").Replace(strings.TrimSpace(s))
}

// readInfo reads bag-info.txt. Folded lines are joined with a line end.
func readInfo(text []byte) (Info, error) {
	var in Info
	scan := bufio.NewScanner(bytes.NewReader(text))
	for n := 1; scan.Scan(); n++ {
		line := strings.TrimRight(scan.Text(), "\r")
		switch {
		case strings.TrimSpace(line) == "":
		case line[0] == ' ' || line[0] == '\t':
			if len(in) == 0 {
				return nil, fmt.Errorf("line %d goes on with nothing before it", n)
			}
			in[len(in)-1].Value += "\n" + strings.TrimSpace(line)
		default:
			name, value, ok := strings.Cut(line, ":")
			if !ok || strings.TrimSpace(name) == "" {
				return nil, fmt.Errorf("line %d is no label, colon and value", n)
			}
			in = append(in, Field{strings.TrimSpace(name), strings.TrimSpace(value)})
		}
	}
	return in, scan.Err()
}
