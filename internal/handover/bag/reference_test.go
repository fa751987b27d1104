package bag

import (
	"crypto"
	_ "crypto/md5"
	_ "crypto/sha1"
	_ "crypto/sha256"
	"crypto/sha3"
	_ "crypto/sha512"
	"encoding/hex"
	"flag"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"pushcue/timeline/fault"
)

var dumpTo = flag.String("bags", "", "write the bags of the comparison with the reference tool into this folder, to record its verdicts anew")

// sumsOf makes a sum of text under the names that the reference tool gives lists.
var sumsOf = map[string]func(text string) string{
	"md5": hashed(crypto.MD5), "sha1": hashed(crypto.SHA1), "sha224": hashed(crypto.SHA224), "sha256": hashed(crypto.SHA256),
	"sha384": hashed(crypto.SHA384), "sha512": hashed(crypto.SHA512),
	"sha3_224": func(s string) string { h := sha3.Sum224([]byte(s)); return hex.EncodeToString(h[:]) },
	"sha3_256": func(s string) string { h := sha3.Sum256([]byte(s)); return hex.EncodeToString(h[:]) },
	"sha3_384": func(s string) string { h := sha3.Sum384([]byte(s)); return hex.EncodeToString(h[:]) },
	"sha3_512": func(s string) string { h := sha3.Sum512([]byte(s)); return hex.EncodeToString(h[:]) },
}

func hashed(a crypto.Hash) func(string) string {
	return func(s string) string {
		h := a.New()
		h.Write([]byte(s))
		return hex.EncodeToString(h.Sum(nil))
	}
}

// A bagOf is a bag under construction: its files by name.
type bagOf map[string]string

// aBag is a bag of version 1.0 with two files and a list of the given sums.
func aBag(sums ...string) bagOf {
	b := bagOf{declaration: "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n", "data/a.txt": "abc", "data/sub/b.txt": "b"}
	for _, s := range sums {
		b["manifest-"+s+".txt"] = b.list(s, "data/")
	}
	return b
}

// list is a list of sums over the files whose names begin so.
func (b bagOf) list(sum string, prefix string) string {
	var lines strings.Builder
	for _, name := range slices.Sorted(maps.Keys(b)) {
		if strings.HasPrefix(name, prefix) && !strings.HasPrefix(name, "tagmanifest") {
			fmt.Fprintf(&lines, "%s  %s\n", sumsOf[sum](b[name]), name)
		}
	}
	return lines.String()
}

// with puts a file into the bag, or takes it out where text is nil.
func (b bagOf) with(name string, text ...string) bagOf {
	delete(b, name)
	if len(text) > 0 {
		b[name] = text[0]
	}
	return b
}

// in changes a file by replacing text, which must be in it.
func (b bagOf) in(name, old, now string) bagOf {
	if !strings.Contains(b[name], old) {
		panic(fmt.Sprintf("%q isn't in %s", old, name))
	}
	return b.with(name, strings.Replace(b[name], old, now, 1))
}

// anew writes the bag's only list of sums again, over what is in it by now.
func (b bagOf) anew() bagOf { return b.with("manifest-sha256.txt", b.list("sha256", "data/")) }

func (b bagOf) version(v string) bagOf { return b.in(declaration, "1.0", v) }

// tagged adds a list of the bag's own notes.
func (b bagOf) tagged(sum string) bagOf {
	var lines strings.Builder
	for _, name := range slices.Sorted(maps.Keys(b)) {
		if isTag(name) {
			fmt.Fprintf(&lines, "%s %s\n", sumsOf[sum](b[name]), name)
		}
	}
	return b.with("tagmanifest-"+sum+".txt", lines.String())
}

// Verdicts on a bag.
const (
	valid     = "valid"
	invalid   = "invalid"
	unchecked = "unchecked" // it can't be proven here: not the bag's fault
)

const someURL = "https://example.org/b.txt"

// comparison is every bag, our verdict on it, and why it isn't the reference tool's where it
// isn't: the section of RFC 8493 that says otherwise, or what this program leaves to others.
var comparison = []struct {
	name string
	bag  bagOf
	ours string
	why  string
}{
	{"sums md5", aBag("md5"), valid, ""},
	{"sums sha1", aBag("sha1"), valid, ""},
	{"sums sha224", aBag("sha224"), valid, ""},
	{"sums sha256", aBag("sha256"), valid, ""},
	{"sums sha384", aBag("sha384"), valid, ""},
	{"sums sha512", aBag("sha512"), valid, ""},
	{"sums sha3 of 224 bits", aBag("sha3_224"), valid, ""},
	{"sums sha3 of 256 bits", aBag("sha3_256"), valid, ""},
	{"sums sha3 of 384 bits", aBag("sha3_384"), valid, ""},
	{"sums sha3 of 512 bits", aBag("sha3_512"), valid, ""},
	{"sums blake2s", aBag().with("manifest-blake2s.txt", "508c5e8c327c14e2e1a72ba34eeb452f37458b209ed63a294d999b4c86675982  data/a.txt\n").with("data/sub/b.txt"), unchecked, "2.4 leaves open which sums a program makes; these aren't in Go's own library"},
	{"sums of capital letters", aBag("sha256").with("manifest-sha256.txt", strings.ReplaceAll(strings.ToUpper(aBag("sha256")["manifest-sha256.txt"]), "DATA/A.TXT", "data/a.txt")).in("manifest-sha256.txt", "DATA/SUB/B.TXT", "data/sub/b.txt"), valid, ""},
	{"several lists", aBag("md5", "sha1", "sha512"), valid, ""},
	{"several lists, one of them damaged", aBag("md5", "sha256").in("manifest-md5.txt", "900150", "900151"), invalid, ""},
	{"a list of sums that aren't made here beside one that is", aBag("sha256").with("manifest-sm3.txt", strings.Repeat("0", 64)+"  data/a.txt\n"), valid, ""},
	{"a file in only one of two lists", aBag("sha256", "md5").in("manifest-md5.txt", sumsOf["md5"]("b")+"  data/sub/b.txt\n", ""), invalid, "2.1.3: each list names every file"},
	{"a file in only one of two lists, version 0.97", aBag("sha256", "md5").in("manifest-md5.txt", sumsOf["md5"]("b")+"  data/sub/b.txt\n", "").version("0.97"), valid, ""},
	{"a file in no list", aBag("sha256").with("data/c.txt", "c"), invalid, ""},
	{"a file that is gone", aBag("sha256").with("data/a.txt"), invalid, ""},
	{"a file that was changed", aBag("sha256").with("data/a.txt", "abd"), invalid, ""},
	{"a sum that is too short", aBag("sha256").in("manifest-sha256.txt", sumsOf["sha256"]("b"), "00"), invalid, ""},
	{"no list", aBag(), invalid, ""},
	{"an empty list and no files", bagOf{declaration: aBag()[declaration], "manifest-sha256.txt": "", "data/": ""}, valid, ""},
	{"no folder for the payload", bagOf{declaration: aBag()[declaration], "manifest-sha256.txt": ""}, invalid, ""},
	{"what a system left among the files", aBag("sha256").with("data/.DS_Store", "x"), valid, "3 asks for every file in the lists; systems leave these in any folder that they show, so they are named and passed over"},

	{"asterisks before the names", aBag("sha256").with("manifest-sha256.txt", strings.ReplaceAll(aBag("sha256")["manifest-sha256.txt"], "  data", " *data")), valid, ""},
	{"one blank before the names", aBag("sha256").with("manifest-sha256.txt", strings.ReplaceAll(aBag("sha256")["manifest-sha256.txt"], "  data", " data")), valid, ""},
	{"tabs before the names", aBag("sha256").with("manifest-sha256.txt", strings.ReplaceAll(aBag("sha256")["manifest-sha256.txt"], "  data", "\t\tdata")), valid, ""},
	{"names that begin with ./", aBag("sha256").with("manifest-sha256.txt", strings.ReplaceAll(aBag("sha256")["manifest-sha256.txt"], "  data", "  ./data")), valid, ""},
	{"names with two slashes", aBag("sha256").in("manifest-sha256.txt", "data/sub/b", "data//sub/b"), valid, ""},
	{"a name that goes up and comes back", aBag("sha256").in("manifest-sha256.txt", "data/sub/b", "data/x/../sub/b"), invalid, "5.1: names that hold .. aren't trusted"},
	{"a name that leads out", aBag("sha256").in("manifest-sha256.txt", "data/sub/b", "data/../../b"), invalid, ""},
	{"a name from the root", aBag("sha256").in("manifest-sha256.txt", "data/sub/b", "/etc/hostname"), invalid, ""},
	{"a name in a home folder", aBag("sha256").in("manifest-sha256.txt", "data/sub/b", "~/b"), invalid, ""},
	{"a name outside the payload", aBag("sha256").in("manifest-sha256.txt", sumsOf["sha256"]("b")+"  data/sub/b", sumsOf["sha256"](aBag()[declaration])+"  bagit.txt\n"+sumsOf["sha256"]("b")+"  data/sub/b"), invalid, "2.1.3: a list of the payload names the payload alone"},
	{"a name with blanks", aBag().with("data/a b  c.txt", "x").anew(), valid, ""},
	{"a name that ends with a blank", aBag().with("data/a ", "x").anew(), valid, "2.1.3: the rest of the line is the name; the reference tool cuts blanks off its end"},
	{"a name with accents", aBag().with("data/gr\u00f6\u00dfe.txt", "x").anew(), valid, ""},
	{"a name whose accents are stored otherwise", aBag().with("data/gr\u00f6\u00dfe.txt", "x").anew().in("manifest-sha256.txt", "gr\u00f6\u00dfe", "gro\u0308\u00dfe"), valid, "6.1.1.2: the same name in another normal form is the same name"},
	{"line ends in a name", aBag().with("data/a\nb\rc.txt", "x").with("manifest-sha256.txt", aBag("sha256")["manifest-sha256.txt"]+sumsOf["sha256"]("x")+"  data/a%0Ab%0dc.txt\n"), valid, ""},
	{"a per cent sign, encoded", aBag().with("data/50%.txt", "x").with("manifest-sha256.txt", aBag("sha256")["manifest-sha256.txt"]+sumsOf["sha256"]("x")+"  data/50%25.txt\n"), valid, "2.1.3: it is written %25; the reference tool doesn't decode it"},
	{"a per cent sign as it is", aBag().with("data/50%.txt", "x").anew(), valid, ""},
	{"%25 in a name, as the reference tool writes it", aBag().with("data/50%25.txt", "x").anew(), valid, ""},
	{"other codes in a name", aBag().with("data/a%41.txt", "x").anew(), valid, ""},
	{"a remark in a list", aBag("sha256").with("manifest-sha256.txt", "# sums\n"+aBag("sha256")["manifest-sha256.txt"]), invalid, "2.1.3 knows no remarks: a line is a sum and a name"},
	{"an empty line in a list", aBag("sha256").with("manifest-sha256.txt", "\n"+aBag("sha256")["manifest-sha256.txt"]+"\n"), valid, ""},
	{"a line without a name", aBag("sha256").with("manifest-sha256.txt", aBag("sha256")["manifest-sha256.txt"]+sumsOf["sha256"]("x")+"\n"), invalid, "2.1.3: a line is a sum and a name; the reference tool leaves others out"},
	{"a file twice with the same sum", aBag("sha256").with("manifest-sha256.txt", aBag("sha256")["manifest-sha256.txt"]+sumsOf["sha256"]("b")+"  data/sub/b.txt\n"), invalid, ""},
	{"a file twice with the same sum, version 0.97", aBag("sha256").with("manifest-sha256.txt", aBag("sha256")["manifest-sha256.txt"]+sumsOf["sha256"]("b")+"  data/sub/b.txt\n").version("0.97"), valid, ""},
	{"a file twice with other sums, version 0.97", aBag("sha256").with("manifest-sha256.txt", aBag("sha256")["manifest-sha256.txt"]+sumsOf["sha256"]("c")+"  data/sub/b.txt\n").version("0.97"), invalid, ""},
	{"lines that end with CRLF", aBag("sha256").with("manifest-sha256.txt", strings.ReplaceAll(aBag("sha256")["manifest-sha256.txt"], "\n", "\r\n")), valid, ""},
	{"lines that end with CR", aBag("sha256").with("manifest-sha256.txt", strings.ReplaceAll(aBag("sha256")["manifest-sha256.txt"], "\n", "\r")), valid, ""},
	{"no line end at the end", aBag("sha256").with("manifest-sha256.txt", strings.TrimSpace(aBag("sha256")["manifest-sha256.txt"])), valid, ""},
	{"a byte order mark before a list", aBag("sha256").with("manifest-sha256.txt", "\ufeff"+aBag("sha256")["manifest-sha256.txt"]), invalid, "2.3: no byte order mark in UTF-8"},
	{"a byte order mark before bagit.txt", aBag("sha256").with(declaration, "\ufeff"+aBag()[declaration]), invalid, ""},
	{"a list in UTF-16", aBag("sha256").in(declaration, "UTF-8", "UTF-16").with("manifest-sha256.txt", encoded(unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder().String(aBag("sha256")["manifest-sha256.txt"]))), valid, ""},
	{"texts in ISO 8859-1", aBag().with("data/größe.txt", "x").in(declaration, "UTF-8", "ISO-8859-1").with("manifest-sha256.txt", encoded(charmap.ISO8859_1.NewEncoder().String(aBag().with("data/größe.txt", "x").list("sha256", "data/")))), valid, ""},
	{"texts in an encoding that nobody knows", aBag("sha256").in(declaration, "UTF-8", "EBCDIC-NONE"), unchecked, "what can't be read isn't damaged"},

	{"version 0.93", aBag("md5").version("0.93"), valid, ""},
	{"version 0.95 with its own notes", aBag("md5").version("0.95").with("package-info.txt", "Payload-Oxum: 4.2\n"), valid, ""},
	{"version 0.95 with other notes", aBag("md5").version("0.95").with("package-info.txt", "Payload-Oxum: 5.2\n"), invalid, ""},
	{"version 0.96", aBag("md5").version("0.96").with("bag-info.txt", "Payload-Oxum: 4.2\n"), valid, ""},
	{"version 0.97", aBag("sha256").version("0.97").tagged("sha256"), valid, ""},
	{"version 0.92", aBag("md5").version("0.92"), invalid, ""},
	{"version 1.1", aBag("sha256").version("1.1"), valid, ""},
	{"version 2.0", aBag("sha256").version("2.0"), invalid, ""},
	{"no bagit.txt", aBag("sha256").with(declaration), invalid, ""},
	{"a third line in bagit.txt", aBag("sha256").in(declaration, "UTF-8\n", "UTF-8\nContact-Name: A. Alder\n"), invalid, "2.1.1: exactly two lines"},
	{"bagit.txt the other way round", aBag("sha256").with(declaration, "Tag-File-Character-Encoding: UTF-8\nBagIt-Version: 1.0\n"), invalid, "2.1.1: the lines stand in this order"},

	{"notes of the bag", aBag("sha256").with("bag-info.txt", "Contact-Name: A. Alder\nPayload-Oxum: 4.2\nExternal-Description: on two\n  lines\n").tagged("sha256"), valid, ""},
	{"another number of bytes", aBag("sha256").with("bag-info.txt", "Payload-Oxum: 5.2\n"), invalid, ""},
	{"a number of bytes that is none", aBag("sha256").with("bag-info.txt", "Payload-Oxum: many\n"), invalid, ""},
	{"two numbers of bytes", aBag("sha256").with("bag-info.txt", "Payload-Oxum: 4.2\nPayload-Oxum: 9.9\n"), invalid, "2.2.2: it stands there once"},
	{"notes without a colon", aBag("sha256").with("bag-info.txt", "just text\n"), invalid, ""},
	{"notes that others added", aBag("sha256").with("notes/mine.txt", "x").with("readme.md", "x").tagged("sha256"), valid, ""},
	{"notes that no list names", aBag("sha256").tagged("sha256").with("notes/mine.txt", "x"), valid, ""},
	{"a changed note", aBag("sha256").with("readme.md", "x").tagged("sha256").with("readme.md", "y"), invalid, ""},
	{"a note that is gone", aBag("sha256").with("readme.md", "x").tagged("sha256").with("readme.md"), invalid, ""},
	{"a list of notes that leaves the payload's list out", aBag("sha256").with("readme.md", "x").with("tagmanifest-sha256.txt", sumsOf["sha256"]("x")+"  readme.md\n"), invalid, "2.2.1: it names every list of the payload"},
	{"a list of notes of other sums", aBag("sha256").tagged("md5"), valid, ""},

	{"fetch.txt, all there", aBag("sha256").with(fetchName, someURL+" 1 data/sub/b.txt\n"), valid, ""},
	{"fetch.txt, length not told", aBag("sha256").with(fetchName, someURL+" - data/sub/b.txt\n"), valid, ""},
	{"fetch.txt of a file address", aBag("sha256").with(fetchName, "file:///srv/b.txt 1 data/sub/b.txt\n"), valid, ""},
	{"fetch.txt, a file still to be brought", aBag("sha256").with(fetchName, someURL+" 1 data/sub/b.txt\n").with("data/sub/b.txt"), invalid, ""},
	{"fetch.txt with a name that leads out", aBag("sha256").with(fetchName, someURL+" 1 data/../../b.txt\n"), invalid, ""},
	{"fetch.txt with a name from the root", aBag("sha256").with(fetchName, someURL+" 1 /etc/cron.d/b\n"), invalid, ""},
	{"fetch.txt with a name in a home folder", aBag("sha256").with(fetchName, someURL+" 1 ~/.profile\n"), invalid, ""},
	{"fetch.txt with half an address", aBag("sha256").with(fetchName, "b.txt 1 data/sub/b.txt\n"), invalid, ""},
	{"fetch.txt with a line too short", aBag("sha256").with(fetchName, someURL+" data/sub/b.txt\n"), invalid, ""},
	{"fetch.txt with a length that is none", aBag("sha256").with(fetchName, someURL+" long data/sub/b.txt\n"), invalid, "2.2.3: the length is a number or a hyphen"},
	{"fetch.txt with a file that no list names", aBag("sha256").with(fetchName, someURL+" 1 data/other.txt\n"), invalid, "2.2.3: each file is in every list of the payload"},
	{"fetch.txt with a note", aBag("sha256").with(fetchName, someURL+" 1 bag-info.txt\n"), invalid, "2.2.3: it names no notes"},
	{"an empty fetch.txt", aBag("sha256").with(fetchName, ""), valid, ""},
}

func encoded(text string, err error) string {
	if err != nil {
		panic(err)
	}
	return text
}

// lay writes a bag into a folder.
func (b bagOf) lay(t *testing.T, dir string) {
	t.Helper()
	must(t, os.MkdirAll(dir, 0o755))
	for name, text := range b {
		if strings.HasSuffix(name, "/") {
			must(t, os.MkdirAll(filepath.Join(dir, name), 0o755))
			continue
		}
		must(t, os.MkdirAll(filepath.Dir(filepath.Join(dir, name)), 0o755))
		must(t, os.WriteFile(filepath.Join(dir, filepath.FromSlash(name)), []byte(text), 0o644))
	}
}

// The verdicts of the reference tool were recorded once; see testdata/reference-tool/README.md.
func TestBagsAreReadAsTheReferenceToolReadsThem(t *testing.T) {
	text, err := os.ReadFile("testdata/reference-tool/verdicts.tsv")
	must(t, err)
	theirs := map[string]string{}
	for line := range strings.Lines(string(text)) {
		name, verdict, _ := strings.Cut(strings.TrimSpace(line), "\t")
		theirs[name], _, _ = strings.Cut(verdict, "\t")
	}
	for i, c := range comparison {
		dir := filepath.Join(t.TempDir(), "bag")
		if *dumpTo != "" {
			dir = filepath.Join(*dumpTo, fmt.Sprintf("%03d %s", i, strings.ReplaceAll(c.name, "/", "|")))
		}
		c.bag.lay(t, dir)
		ours := valid
		r, err := Verify(t.Context(), dir, nil)
		_, isFault := fault.In(err)
		switch {
		case isFault:
			ours = unchecked
		case err != nil:
			t.Fatalf("%s: %v", c.name, err)
		case !r.Good():
			ours = invalid
		}
		if ours != c.ours {
			t.Errorf("%s: %s, wanted %s: %v, %v", c.name, ours, c.ours, r, err)
		}
		if differs := theirs[c.name] != c.ours; differs != (c.why != "") {
			t.Errorf("%s: the reference tool says %q, we say %s, because: %q", c.name, theirs[c.name], c.ours, c.why)
		}
		delete(theirs, c.name)
	}
	if len(theirs) > 0 {
		t.Errorf("verdicts on bags that aren't here: %v", slices.Sorted(maps.Keys(theirs)))
	}
}
