package manifest

import (
	"bufio"
	"fmt"
	"io"
	"path"
	"slices"
	"sort"
	"strings"
)

// WriteCoreutils writes the list as coreutils' sha256sum and sha512sum read it
// back with -c: text names escaped with a leading backslash on the line where
// they hold a backslash or a line end. Lines are sorted by name.
func WriteCoreutils(w io.Writer, a Algorithm, list []Entry) error {
	return writeLines(w, a, list, func(sum, name string) string {
		if !strings.ContainsAny(name, "\\\n\r") {
			return sum + "  " + name + "\n"
		}
		return `\` + sum + "  " + strings.NewReplacer(`\`, `\\`, "\n", `\n`, "\r", `\r`).Replace(name) + "\n"
	})
}

// WriteBagIt writes the list as a BagIt manifest (RFC 8493 section 2.1.3): only
// CR, LF and % in a name are percent-encoded. Lines are sorted by name.
func WriteBagIt(w io.Writer, a Algorithm, list []Entry) error {
	return writeLines(w, a, list, func(sum, name string) string {
		return sum + "  " + strings.NewReplacer("%", "%25", "\n", "%0A", "\r", "%0D").Replace(name) + "\n"
	})
}

func writeLines(w io.Writer, a Algorithm, list []Entry, line func(sum, name string) string) error {
	sorted := append([]Entry(nil), list...)
	sort.Slice(sorted, func(i, j int) bool { return sorted[i].Name < sorted[j].Name })
	out := bufio.NewWriter(w)
	for _, e := range sorted {
		sum, ok := e.Sums[a]
		if !ok {
			return fmt.Errorf("%q has no %s sum", e.Name, a)
		}
		if _, err := out.WriteString(line(sum, e.Name)); err != nil {
			return err
		}
	}
	return out.Flush()
}

// ReadCoreutils reads a list as WriteCoreutils, sha256sum or sha512sum write it.
// Errors name the line.
func ReadCoreutils(r io.Reader, a Algorithm) ([]Entry, error) {
	return readLines(r, a, false, func(line string) (string, string, error) {
		escaped := strings.HasPrefix(line, `\`)
		sum, name, ok := strings.Cut(strings.TrimPrefix(line, `\`), " ")
		if !ok || name == "" || (name[0] != ' ' && name[0] != '*') {
			return "", "", fmt.Errorf("not a sum, two spaces and a name")
		}
		name = name[1:]
		if escaped {
			name = unescape(name)
		}
		return sum, name, nil
	})
}

// BagItForm is how a BagIt manifest is written.
type BagItForm struct {
	Repeats bool // a line may stand there again, as versions before 1.0 allow
	Raw     bool // %25 in a name is those three characters: the reference tool doesn't encode %
}

// ReadBagIt reads a BagIt manifest (RFC 8493 section 2.1.3). One or more blanks part the sum
// from the name; %0A, %0D and %25 are decoded in either case. An asterisk before the name, as
// md5sum and its like write for binary mode, isn't part of it (section 6.1.3).
func ReadBagIt(r io.Reader, a Algorithm, form BagItForm) ([]Entry, error) {
	decode := bagItNames
	if form.Raw {
		decode = rawBagItNames
	}
	return readLines(r, a, form.Repeats, func(line string) (string, string, error) {
		at := strings.IndexAny(line, " \t")
		if at <= 0 {
			return "", "", fmt.Errorf("not a sum, blanks and a name")
		}
		return line[:at], plainly(decode.Replace(strings.TrimLeft(strings.TrimLeft(line[at:], " \t"), "*"))), nil
	})
}

var (
	bagItNames    = strings.NewReplacer("%0A", "\n", "%0a", "\n", "%0D", "\r", "%0d", "\r", "%25", "%")
	rawBagItNames = strings.NewReplacer("%0A", "\n", "%0a", "\n", "%0D", "\r", "%0d", "\r")
)

// plainly leaves out of a name what leads nowhere, as in ./data//a.txt. What leads up stays, and
// is refused.
func plainly(name string) string {
	if name == "" || strings.HasPrefix(name, "/") || slices.Contains(strings.Split(name, "/"), "..") {
		return name
	}
	return path.Clean(name)
}

// longest is the longest line believed: a name of 4 KiB, all of it escaped.
const longest = 64 << 10

func readLines(r io.Reader, a Algorithm, repeats bool, split func(line string) (sum, name string, err error)) ([]Entry, error) {
	scan := bufio.NewScanner(r)
	scan.Buffer(make([]byte, 4096), longest)
	var list []Entry
	seen := map[string]int{} // line of each name
	sums := map[string]string{}
	for n := 1; scan.Scan(); n++ {
		line := scan.Text()
		if strings.TrimSpace(line) == "" {
			continue
		}
		sum, name, err := split(line)
		if err == nil && len(sum) != a.HexLen() {
			err = fmt.Errorf("a %s sum has %d digits, this one %d", a, a.HexLen(), len(sum))
		}
		if err == nil && strings.Trim(strings.ToLower(sum), "0123456789abcdef") != "" {
			err = fmt.Errorf("the sum holds something other than digits and a to f")
		}
		if err == nil {
			err = CheckName(name)
		}
		before, twice := seen[name]
		if err == nil && twice && repeats && sums[name] == strings.ToLower(sum) {
			continue
		}
		if err == nil && twice {
			err = fmt.Errorf("%q stands in line %d already", name, before)
		}
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", n, err)
		}
		seen[name], sums[name] = n, strings.ToLower(sum)
		list = append(list, Entry{Name: name, Size: -1, Sums: map[Algorithm]string{a: strings.ToLower(sum)}})
	}
	if err := scan.Err(); err != nil {
		return nil, fmt.Errorf("after line %d: %w", len(seen), err)
	}
	return list, nil
}

func unescape(s string) string {
	var b strings.Builder
	for i := 0; i < len(s); i++ {
		if s[i] != '\\' || i+1 == len(s) {
			b.WriteByte(s[i])
			continue
		}
		i++
		switch s[i] {
		case 'n':
			b.WriteByte('\n')
		case 'r':
			b.WriteByte('\r')
		default:
			b.WriteByte(s[i])
		}
	}
	return b.String()
}
