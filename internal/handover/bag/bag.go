// Package bag keeps a job for good: a BagIt bag (RFC 8493) of everything that came
// home and everything that was made from it, as a folder or as a single .tar or
// .zip, and the proof, years later, that nothing in it has changed.
//
//	written, err := bag.Write(ctx, "archive/2291-B.tar", payload, info, nil)
//	report, err := bag.Verify(ctx, "archive/2291-B.tar", nil)
//
// A bag proves itself only against chance. Whoever may rewrite the whole bag can
// rewrite its sums with it: Written.Seal, noted elsewhere, shows that too.
package bag

import (
	"os"
	"path"
	"path/filepath"
	"strings"
	"time"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"pushcue/internal/manifest"
	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// Form is how a bag is written.
type Form int

const (
	Folder Form = iota
	Tar
	Zip
)

// FormOf tells the form from the end of a name.
func FormOf(name string) Form {
	switch strings.ToLower(filepath.Ext(name)) {
	case ".tar":
		return Tar
	case ".zip":
		return Zip
	}
	return Folder
}

// A File is one file of the payload.
type File struct {
	Path string                   // where it lies now
	Name string                   // in the payload, forward slashes, without "data/"
	Open func() (*os.File, error) // nil: as a file that the person who runs the program named
}

// A Field is one line of bag-info.txt.
type Field struct{ Label, Value string }

// Info is bag-info.txt in order. Bagging-Date, Payload-Oxum and
// Bag-Software-Agent are filled in by Write.
type Info []Field

// Get returns the first value of a label, compared without case (RFC 8493
// section 2.2.2), and whether there is one.
func (in Info) Get(label string) (string, bool) {
	for _, f := range in {
		if strings.EqualFold(f.Label, label) {
			return f.Value, true
		}
	}
	return "", false
}

func (in Info) count(label string) int {
	n := 0
	for _, f := range in {
		if strings.EqualFold(f.Label, label) {
			n++
		}
	}
	return n
}

// Names of a bag's own files (RFC 8493 section 2).
const (
	declaration = "bagit.txt"
	infoName    = "bag-info.txt"
	fetchName   = "fetch.txt"
	payloadDir  = "data/"
	readMe      = "WHAT-IS-THIS.txt"
	agent       = "pushcue"
)

// algorithms are the sums a bag is written with: SHA-512 is what RFC 8493 section
// 2.4 asks for, SHA-256 what the handover's own list of sums uses.
var algorithms = []manifest.Algorithm{manifest.SHA256, manifest.SHA512}

func manifestName(a manifest.Algorithm) string    { return "manifest-" + string(a) + ".txt" }
func tagManifestName(a manifest.Algorithm) string { return "tagmanifest-" + string(a) + ".txt" }

// now is the date that a bag is stamped with; tests set it.
var now = time.Now

// checkPayload refuses what a bag can't hold or another system couldn't unpack.
func checkPayload(files []File) error {
	var faults fault.List
	seen := map[string]string{}
	for _, f := range files {
		if err := manifest.CheckName(f.Name); err != nil {
			faults = append(faults, fault.Fault{File: f.Path, Text: words.Of(err), Hint: words.Tell("rename the file")})
			continue
		}
		if !utf8.ValidString(f.Name) { // RFC 8493 section 2.3: lists are UTF-8
			faults = append(faults, fault.Fault{File: f.Path, Text: words.Tell("has a name in a character set of its own, which other systems can't read"), Hint: words.Tell("rename the file")})
			continue
		}
		key := norm.NFC.String(strings.ToLower(f.Name)) // RFC 8493 section 6.1.1
		if other, twice := seen[key]; twice {
			faults = append(faults, fault.Fault{File: f.Path, Text: words.Tell("differs from %q only in capitals, or in how its accents are stored, which many drives can't tell apart", other), Hint: words.Tell("rename one of them")})
		}
		seen[key] = f.Name
	}
	return faults.Err()
}

// bagName is the name of the one folder in an archive: the archive's own without
// its ending.
func bagName(target string) string {
	base := filepath.Base(target)
	if FormOf(target) != Folder {
		base = strings.TrimSuffix(base, filepath.Ext(base))
	}
	return base
}

func isTag(name string) bool { return !strings.HasPrefix(name, payloadDir) }

func isTagManifest(name string) bool {
	return path.Dir(name) == "." && strings.HasPrefix(name, "tagmanifest-") && strings.HasSuffix(name, ".txt")
}

// manifestAlgorithm reads the algorithm out of a manifest's name, as RFC 8493
// section 2.4 spells it.
func manifestAlgorithm(name, prefix string) (manifest.Algorithm, bool) {
	if !strings.HasPrefix(name, prefix) || !strings.HasSuffix(name, ".txt") {
		return "", false
	}
	spelled := strings.TrimSuffix(strings.TrimPrefix(name, prefix), ".txt")
	return manifest.Algorithm(strings.ReplaceAll(spelled, "_", "")), true // the reference tool writes sha3_256
}
