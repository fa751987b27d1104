package bag

import (
	"bufio"
	"bytes"
	"fmt"
	"strings"
)

// text writes bag-info.txt: a label, a colon, a blank, the value. Line ends
// within a value are kept by folding, the next line starting with blanks (RFC
// 8493 section 2.2.2).
func (in Info) text() []byte {
	var b bytes.Buffer
	for _, f := range in {
		lines := strings.FieldsFunc(f.Value, func(r rune) bool { return r == '\n' || r == '\r' })
		fmt.Fprintf(&b, "%s: %s\n", label(f.Label), strings.Join(lines, "\n   "))
	}
	return b.Bytes()
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
