package bag

import (
	"fmt"
	"net/url"
	"strings"

	"pushcue/internal/manifest"
)

// fetch checks fetch.txt, which names files that are to be brought from elsewhere (RFC 8493
// section 2.2.3). Nothing is fetched here. A file that isn't there yet is missing all the same:
// a bag is complete only with it (section 3).
func (r *Report) fetch(c *contents, l sumLists) {
	text, ok := c.tags[fetchName]
	if !ok {
		return
	}
	listed := map[string]manifest.Entry{}
	for _, e := range l.entries {
		listed[e.Name] = e
	}
	there, all := 0, 0
	n := 0
	for line := range strings.Lines(string(withLF(text))) {
		n++
		if strings.TrimSpace(line) == "" {
			continue
		}
		all++
		name, err := fetchLine(line)
		if err != nil {
			r.fault("fetch.txt, line %d: %v", n, err)
			continue
		}
		if _, here := c.present[name]; here {
			there++
		}
		if e, known := listed[name]; !known || r.version.whole() && len(e.Sums) < len(l.algorithms) {
			r.fault("fetch.txt, line %d: %q isn't in every list of the payload's sums", n, name)
		}
	}
	if all > 0 {
		r.Notes = append(r.Notes, fmt.Sprintf("fetch.txt names files that are to be brought from elsewhere; nothing is fetched here, and %d of %d are there", there, all))
	}
}

// fetchLine reads one line: an address, a length in bytes or a hyphen, and a name.
func fetchLine(line string) (name string, err error) {
	address, rest := field(line)
	length, rest := field(rest)
	name = strings.TrimRight(strings.TrimLeft(rest, " \t"), "\n")
	name = strings.NewReplacer("%0A", "\n", "%0a", "\n", "%0D", "\r", "%0d", "\r", "%25", "%").Replace(strings.TrimPrefix(name, "./"))
	if name == "" || length == "" {
		return "", fmt.Errorf("not an address, a length and a name")
	}
	if length != "-" && strings.Trim(length, "0123456789") != "" {
		return "", fmt.Errorf("the length is %q, not a number of bytes or a hyphen", length)
	}
	if u, err := url.Parse(address); err != nil || u.Scheme == "" || u.Host == "" && u.Scheme != "file" {
		return "", fmt.Errorf("%q isn't a whole address", address)
	}
	if err := manifest.CheckName(name); err != nil { // section 5.1
		return "", err
	}
	if isTag(name) {
		return "", fmt.Errorf("%q isn't under data/", name)
	}
	return name, nil
}

// field cuts the first word off.
func field(s string) (word, rest string) {
	s = strings.TrimLeft(s, " \t")
	at := strings.IndexAny(s, " \t\n")
	if at < 0 {
		return s, ""
	}
	return s[:at], s[at:]
}
