package manifest

import (
	"fmt"
	"sort"
	"strings"

	"golang.org/x/text/unicode/norm"
)

// Change is what happened to a file since its list was made.
type Change string

const (
	Changed    Change = "changed"    // its bytes differ
	Missing    Change = "missing"    // in the list, not there
	Added      Change = "added"      // there, not in the list
	Renamed    Change = "renamed"    // the same bytes under another name
	Unreadable Change = "unreadable" // the device or the rights refuse
)

// A Finding is one file that isn't as its list says.
type Finding struct {
	Change Change
	Name   string
	Now    string // the new name, for Renamed
	Detail string // the cause, for Unreadable; more about a change, or ""
}

// String tells the finding in plain words.
func (f Finding) String() string {
	switch f.Change {
	case Changed:
		return fmt.Sprintf("changed: %q isn't what it was%s", f.Name, f.Detail)
	case Missing:
		return fmt.Sprintf("missing: %q is gone", f.Name)
	case Added:
		return fmt.Sprintf("added: %q wasn't there before", f.Name)
	case Renamed:
		return fmt.Sprintf("renamed: %q is now called %q", f.Name, f.Now)
	}
	return fmt.Sprintf("unreadable: %q can't be read: %s", f.Name, f.Detail)
}

// Found is what was met under a name.
type Found struct {
	Size       int64                // bytes, -1 when unknown
	Sums       map[Algorithm]string // those that were made; none when it wasn't read
	Odd        bool                 // a link or a device, not a plain file
	Unreadable string               // why it couldn't be read; "" when it could
}

// Judge returns what isn't as the list says, sorted by name, given all that is
// present. A name whose accents are stored in the other Unicode normal form (as
// some file systems do) counts as the same name. A missing file whose bytes stand
// there under a name that no list knows is renamed.
func Judge(list []Entry, present map[string]Found) []Finding {
	names := make([]string, 0, len(present))
	for name := range present {
		names = append(names, name)
	}
	sort.Strings(names)
	claims, extra := match(list, names)

	var all []Finding
	for i, e := range list {
		if claims[i] != "" {
			if f, wrong := judgeOne(e, present[claims[i]]); wrong {
				all = append(all, f)
			}
			continue
		}
		at := sameBytes(e, extra, present)
		if at < 0 {
			all = append(all, Finding{Change: Missing, Name: e.Name})
			continue
		}
		all = append(all, Finding{Change: Renamed, Name: e.Name, Now: extra[at]})
		extra = append(extra[:at:at], extra[at+1:]...)
	}
	for _, name := range extra {
		all = append(all, Finding{Change: Added, Name: name})
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].Name < all[j].Name })
	return all
}

func judgeOne(want Entry, found Found) (Finding, bool) {
	switch {
	case found.Unreadable != "":
		return Finding{Change: Unreadable, Name: want.Name, Detail: found.Unreadable}, true
	case found.Odd:
		return Finding{Change: Changed, Name: want.Name, Detail: ": it is no longer a plain file"}, true
	case want.Size >= 0 && found.Size != want.Size:
		return Finding{Change: Changed, Name: want.Name, Detail: fmt.Sprintf(": %d bytes long, was %d", found.Size, want.Size)}, true
	}
	var fit, differ []string
	for _, a := range algorithmsOf([]Entry{want}) {
		if found.Sums[a] == want.Sums[a] {
			fit = append(fit, string(a))
		} else {
			differ = append(differ, string(a))
		}
	}
	switch {
	case len(differ) == 0:
		return Finding{}, false
	case len(fit) == 0:
		return Finding{Change: Changed, Name: want.Name}, true
	}
	return Finding{Change: Changed, Name: want.Name, Detail: fmt.Sprintf(
		", or rather: it fits its %s sum, so its %s sum in the list was changed", strings.Join(fit, " and "), strings.Join(differ, " and "))}, true
}

// sameBytes finds among the extra names one whose bytes are the entry's, or -1.
func sameBytes(e Entry, extra []string, present map[string]Found) int {
	for i, name := range extra {
		if found := present[name]; len(found.Sums) > 0 {
			if _, wrong := judgeOne(e, found); !wrong {
				return i
			}
		}
	}
	return -1
}

// match finds each entry's name as it is spelt where it stands, "" where there is
// none, and the names that no entry claims.
func match(list []Entry, names []string) (claims, extra []string) {
	exact := map[string]bool{}
	composed := map[string][]string{}
	for _, name := range names {
		exact[name] = true
		c := norm.NFC.String(name)
		composed[c] = append(composed[c], name)
	}
	claims = make([]string, len(list))
	claimed := map[string]bool{}
	for i, e := range list {
		if exact[e.Name] {
			claims[i], claimed[e.Name] = e.Name, true
		}
	}
	for i, e := range list {
		for _, name := range composed[norm.NFC.String(e.Name)] {
			if claims[i] == "" && !claimed[name] {
				claims[i], claimed[name] = name, true
			}
		}
	}
	for _, name := range names {
		if !claimed[name] {
			extra = append(extra, name)
		}
	}
	return claims, extra
}

// Totals counts findings for one closing sentence: "2 changed, 1 missing".
func Totals(all []Finding) string {
	counts := map[Change]int{}
	for _, f := range all {
		counts[f.Change]++
	}
	var parts []string
	for _, c := range []Change{Changed, Missing, Renamed, Added, Unreadable} {
		if counts[c] > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", counts[c], c))
		}
	}
	return strings.Join(parts, ", ")
}
