package bag

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pushcue/internal/manifest"
	"pushcue/timeline/fault"
)

// otherBag writes a bag as another program might, with the sums of one algorithm, and
// returns its folder.
func otherBag(t *testing.T, a manifest.Algorithm, sum string) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "bag")
	for name, text := range map[string]string{
		"bagit.txt":                      "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n",
		"data/a.txt":                     "abc",
		"manifest-" + string(a) + ".txt": sum + "  data/a.txt\n",
		"bag-info.txt":                   "Payload-Oxum: 3.1\n",
	} {
		path := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// The sums of "abc" are the published examples: RFC 1321 (MD5), NIST's example values for
// FIPS 180-4 (SHA) and FIPS 202 (SHA-3), from memory but for MD5, SHA-1 and SHA-384 as
// coreutils prints them too.
func TestBagsWithOtherSumsAreProven(t *testing.T) {
	for a, sum := range map[manifest.Algorithm]string{
		"md5":     "900150983cd24fb0d6963f7d28e17f72",
		"sha1":    "a9993e364706816aba3e25717850c26c9cd0d89d",
		"sha224":  "23097d223405d8228642a477bda255b32aadbce4bda0b3f7e36c9da7",
		"sha384":  "cb00753f45a35e8bb5a03d699ac65007272c32ab0eded1631a8b605a43ff5bed8086072ba1e7cc2358baeca134c825a7",
		"sha3256": "3a985da74fe225b2045c172d6bd390bd855f086e3e9d525b46bfe24511431532",
	} {
		dir := otherBag(t, a, sum)
		r, err := Verify(t.Context(), dir, nil)
		if err != nil || !r.Good() {
			t.Errorf("%s: %v, %+v", a, err, r)
		}
		if err := os.WriteFile(filepath.Join(dir, "data", "a.txt"), []byte("abd"), 0o644); err != nil {
			t.Fatal(err)
		}
		if r, err := Verify(t.Context(), dir, nil); err != nil || r.Good() {
			t.Errorf("%s: a changed file isn't found: %v", a, err)
		}
	}
}

// What can't be checked wasn't found to be wrong: the input can't be used.
func TestSumsThatCannotBeMadeAreNoDamage(t *testing.T) {
	_, err := Verify(t.Context(), otherBag(t, "blake9", strings.Repeat("0", 64)), nil)
	if list, ok := fault.In(err); !ok || !strings.Contains(fmt.Sprint(list), "blake9") {
		t.Errorf("%v", err)
	}
}

func TestOurBagWithoutItsTagListsIsNotWhatItWas(t *testing.T) {
	dir := otherBag(t, "md5", "900150983cd24fb0d6963f7d28e17f72")
	if err := os.WriteFile(filepath.Join(dir, "bag-info.txt"), []byte("Bag-Software-Agent: "+agent+"\nPayload-Oxum: 3.1\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	r, err := Verify(t.Context(), dir, nil)
	if err != nil || r.Good() || !strings.Contains(strings.Join(r.Faults, " "), "tagmanifest-sha512.txt") {
		t.Errorf("%v, %+v", err, r)
	}
}
