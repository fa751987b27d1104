package bag

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"golang.org/x/text/encoding/ianaindex"

	"pushcue/internal/manifest"
	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// A Report is what became of a bag.
type Report struct {
	Path     string
	Info     Info
	Files    int    // payload files that were checked
	Bytes    int64  // of them
	Seal     string // see Written.Seal; "" where there is no such list
	Findings []manifest.Finding
	Faults   []string // what makes it no complete bag, apart from single files
	Notes    []string // worth knowing, but nothing wrong

	version version // of the format, as the bag declares it
}

// Good tells whether the bag is complete and valid (RFC 8493 section 3).
func (r *Report) Good() bool { return len(r.Findings) == 0 && len(r.Faults) == 0 }

// Problems lists all that is wrong, in plain words.
func (r *Report) Problems() []string {
	all := slices.Clone(r.Faults)
	for _, f := range r.Findings {
		all = append(all, f.String())
	}
	return all
}

// Verify reads a whole bag, a folder or a single file, and tells what isn't as it
// was. What is wrong with the bag stands in the report; an error means that it
// couldn't be looked at.
func Verify(ctx context.Context, target string, progress Progress) (*Report, error) {
	if progress == nil {
		progress = func(string, string, int64) {}
	}
	c, err := read(ctx, target, func(name string, n int) { progress("reading", name, int64(n)) })
	var refused refusal
	if errors.As(err, &refused) {
		return &Report{Path: target, Faults: []string{refused.Error()}}, nil
	}
	if err != nil {
		return nil, err
	}
	r := &Report{Path: target, Faults: c.faults}
	if !c.isAnyBag() {
		return nil, fault.Of(fault.Fault{File: target, Text: words.Tell("isn't an archive that pushcue bag made"), Hint: words.Tell("name a handover, a drive, or an archive: a folder, a .tar or a .zip")})
	}
	if err := r.declaration(c); err != nil {
		return nil, fault.Of(fault.Fault{File: target, Text: words.Of(err), Hint: words.Tell("check it with the program that made it")})
	}
	payload := r.lists(c, "manifest-")
	tags := r.lists(c, "tagmanifest-")
	r.passOverLitter(c, payload, tags)
	r.info(c)
	switch {
	case len(payload.algorithms) > 0:
	case len(payload.unknown) > 0:
		return nil, fault.Of(fault.Fault{File: target, Text: words.Tell("its sums are of a kind that this program can't make (%s), so that nothing can be proven", strings.Join(payload.unknown, ", ")),
			Hint: words.Tell("check it with the program that made it")})
	default:
		r.fault("the list of the payload's sums (manifest-sha512.txt) is missing")
	}
	switch by, _ := r.Info.Get("Bag-Software-Agent"); {
	case len(tags.algorithms) > 0:
	case by == agent: // this program always writes them
		r.fault("the lists of the sums of the archive's own notes (tagmanifest-sha512.txt) are gone")
	default:
		r.Notes = append(r.Notes, "no list covers the bag's own notes, so a change in them wouldn't show")
	}
	r.payload(c, payload)
	r.fetch(c, payload)
	r.tags(c, tags)
	if text, ok := c.tags[tagManifestName(manifest.SHA512)]; ok {
		r.Seal = seal(text)
	}
	return r, nil
}

// isAnyBag reports whether anything at all that makes a bag is there, or the archive
// is too damaged to tell.
func (c *contents) isAnyBag() bool {
	for name := range c.tags {
		_, isList := manifestAlgorithm(name, "manifest-")
		if isList || isTagManifest(name) || name == declaration || name == readMe {
			return true
		}
	}
	return len(c.present) == 0
}

// passOverLitter leaves aside, and names, what systems put into folders they show.
func (r *Report) passOverLitter(c *contents, lists ...sumLists) {
	listed := map[string]bool{}
	for _, l := range lists {
		for _, e := range l.entries {
			listed[e.Name] = true
		}
	}
	for _, name := range slices.Sorted(maps.Keys(c.present)) {
		if manifest.IsLitter(name) && !listed[name] {
			delete(c.present, name)
			r.Notes = append(r.Notes, fmt.Sprintf("%q was left by a system that showed the folder, and was passed over", name))
		}
	}
}

// withLF has lines end with LF, where they may end with CR or both (RFC 8493 section
// 2.3).
func withLF(text []byte) []byte {
	return bytes.ReplaceAll(bytes.ReplaceAll(text, []byte("\r\n"), []byte("\n")), []byte("\r"), []byte("\n"))
}

func (r *Report) fault(format string, args ...any) {
	r.Faults = append(r.Faults, fmt.Sprintf(format, args...))
}

// exactly two lines, no byte order mark (RFC 8493 section 2.1.1)
var declared = regexp.MustCompile(`\ABagIt-Version: ([0-9]+)\.([0-9]+)\nTag-File-Character-Encoding: ([^\n]+)\n?\z`)

// A version of the format.
type version struct{ major, minor int }

// whole reports that a manifest must name every file and each but once, which is so from 1.0 on.
func (v version) whole() bool { return v.major >= 1 }

// infoName is what the bag's notes are called: package-info.txt before version 0.96.
func (v version) infoName() string {
	if v.major == 0 && v.minor < 96 {
		return "package-info.txt"
	}
	return infoName
}

// declaration reads bagit.txt. An error means that the bag's texts can't be read at all.
func (r *Report) declaration(c *contents) error {
	r.version = version{1, 0}
	text, ok := c.tags[declaration]
	if !ok {
		r.fault("bagit.txt, which makes a folder a bag, is missing")
		return nil
	}
	m := declared.FindSubmatch(withLF(text))
	if m == nil {
		r.fault("bagit.txt isn't the two lines that RFC 8493 section 2.1.1 asks for")
		return nil
	}
	major, errMajor := strconv.Atoi(string(m[1]))
	minor, errMinor := strconv.Atoi(string(m[2]))
	if errMajor != nil || errMinor != nil || major > 1 || major == 0 && minor < 93 {
		r.fault("bagit.txt names version %s.%s, which this program doesn't know", m[1], m[2])
		return nil
	}
	r.version = version{major, minor}
	return c.decode(strings.TrimSpace(string(m[3])))
}

// decode turns the bag's own texts into UTF-8 from the encoding that it declares (RFC 8493
// section 2.1.1); bagit.txt itself is UTF-8 always.
func (c *contents) decode(name string) error {
	if strings.EqualFold(name, "UTF-8") {
		return nil
	}
	e, err := ianaindex.IANA.Encoding(name)
	if err != nil || e == nil {
		return words.Errorf("its texts are in a character encoding that this program doesn't know (%s), so that nothing can be proven", name)
	}
	for name, text := range c.tags {
		if name == declaration || name == readMe {
			continue
		}
		if c.tags[name], err = e.NewDecoder().Bytes(text); err != nil {
			return err
		}
	}
	return nil
}

func (r *Report) info(c *contents) {
	name := r.version.infoName()
	text, ok := c.tags[name]
	if !ok {
		return // bag-info.txt is optional (RFC 8493 section 2.2.2)
	}
	info, err := readInfo(withLF(text))
	if err != nil {
		r.fault("%s can't be read: %v", name, err)
		return
	}
	r.Info = info
	oxum, ok := info.Get("Payload-Oxum")
	if !ok {
		return
	}
	if n := info.count("Payload-Oxum"); n > 1 { // RFC 8493 section 2.2.2
		r.fault("bag-info.txt holds Payload-Oxum %d times", n)
	}
	octets, files, _ := strings.Cut(oxum, ".")
	wantBytes, err1 := strconv.ParseInt(octets, 10, 64)
	wantFiles, err2 := strconv.Atoi(files)
	var gotBytes int64
	gotFiles := 0
	for name, f := range c.present {
		if !isTag(name) {
			gotBytes += max(f.Size, 0)
			gotFiles++
		}
	}
	switch {
	case err1 != nil || err2 != nil:
		r.fault("Payload-Oxum in bag-info.txt is %q, not a number of bytes, a point and a number of files", oxum)
	case wantBytes != gotBytes || wantFiles != gotFiles:
		r.fault("bag-info.txt says %d files with %d bytes, the payload holds %d files with %d bytes", wantFiles, wantBytes, gotFiles, gotBytes)
	}
}

// sumLists is all manifests of one sort joined by file.
type sumLists struct {
	algorithms []manifest.Algorithm
	unknown    []string // algorithms that can't be made
	entries    []manifest.Entry
}

// lists reads all manifests of one sort. Each must name the same files, each once
// (RFC 8493 section 2.1.3).
func (r *Report) lists(c *contents, prefix string) sumLists {
	var l sumLists
	byName := map[string]manifest.Entry{}
	for _, name := range slices.Sorted(maps.Keys(c.tags)) {
		a, ok := manifestAlgorithm(name, prefix)
		if !ok {
			continue
		}
		if a.HexLen() == 0 {
			l.unknown = append(l.unknown, string(a))
			r.Notes = append(r.Notes, fmt.Sprintf("%s holds sums of a kind that this program doesn't make; they weren't checked", name))
			continue
		}
		if bytes.HasPrefix(c.tags[name], []byte("\ufeff")) { // RFC 8493 section 2.3
			r.fault("%s begins with a byte order mark", name)
		}
		list, err := r.list(c, c.tags[name], a)
		if err != nil {
			r.fault("%s can't be read: %v", name, err)
			continue
		}
		l.algorithms = append(l.algorithms, a)
		for _, e := range list {
			if joined, known := byName[e.Name]; known {
				joined.Sums[a] = e.Sums[a]
			} else {
				byName[e.Name] = e
			}
		}
	}
	for _, name := range slices.Sorted(maps.Keys(byName)) {
		e := byName[name]
		if len(e.Sums) < len(l.algorithms) && r.version.whole() {
			r.fault("the lists of sums don't agree: not all of them name %q", name)
		}
		l.entries = append(l.entries, e)
	}
	return l
}

// list reads one list of sums. The reference tool doesn't encode a per cent sign, as RFC 8493
// section 2.1.3 asks: where a name isn't there as the RFC reads it, and is there as it stands,
// that is the one that is meant.
func (r *Report) list(c *contents, text []byte, a manifest.Algorithm) ([]manifest.Entry, error) {
	text = bytes.TrimPrefix(withLF(text), []byte("\ufeff")) // complained of already
	list, err := manifest.ReadBagIt(bytes.NewReader(text), a, manifest.BagItForm{Repeats: !r.version.whole()})
	if err != nil || !bytes.Contains(text, []byte("%25")) {
		return list, err
	}
	raw, err := manifest.ReadBagIt(bytes.NewReader(text), a, manifest.BagItForm{Repeats: !r.version.whole(), Raw: true})
	if err != nil || len(raw) != len(list) {
		return list, nil
	}
	for i, e := range list {
		_, decoded := c.present[e.Name]
		if _, there := c.present[raw[i].Name]; there && !decoded {
			list[i] = raw[i]
			r.Notes = append(r.Notes, fmt.Sprintf("%q stands in a list as it is, where its per cent sign should be written %%25", raw[i].Name))
		}
	}
	return list, nil
}

func (r *Report) payload(c *contents, l sumLists) {
	present := map[string]manifest.Found{}
	for name, f := range c.present {
		if !isTag(name) {
			present[name] = f
			r.Files++
			r.Bytes += max(f.Size, 0)
		}
	}
	for _, e := range l.entries {
		if isTag(e.Name) {
			r.fault("the list of the payload's sums names %q, which isn't under data/", e.Name)
		}
	}
	if len(present) == 0 && c.noPayload { // RFC 8493 section 2.1.2
		r.fault("the payload's folder, data, is missing")
	}
	r.Findings = append(r.Findings, manifest.Judge(l.entries, present)...)
}

// tags checks the bag's own notes. Notes that no list names are lawful in a bag of
// others; in ours, which lists them all, they were added.
func (r *Report) tags(c *contents, l sumLists) {
	if len(l.algorithms) == 0 {
		return
	}
	by, _ := r.Info.Get("Bag-Software-Agent")
	listed := map[string]bool{}
	for _, e := range l.entries {
		listed[e.Name] = true
		switch {
		case isTagManifest(e.Name):
			r.fault("%s is listed in a list of its own kind, which RFC 8493 section 2.2.1 forbids", e.Name)
		case !isTag(e.Name):
			r.fault("the list of the bag's own notes names %q, which belongs to the payload", e.Name)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(c.tags)) {
		if _, isList := manifestAlgorithm(name, "manifest-"); isList && !listed[name] { // RFC 8493 section 2.2.1
			r.fault("%s stands in no list of the bag's own notes, so a change in it wouldn't show", name)
		}
	}
	present := map[string]manifest.Found{}
	for name, f := range c.present {
		if isTag(name) && !isTagManifest(name) && (listed[name] || by == agent) {
			present[name] = f
		}
	}
	r.Findings = append(r.Findings, manifest.Judge(l.entries, present)...)
}
