package review

import (
	"slices"
	"testing"
)

func TestOfTheSystemsOwnDriveNothingIsListed(t *testing.T) {
	for _, c := range []struct {
		drives []string
		folder string // of Windows
		want   []string
	}{
		{[]string{`C:\`, `D:\`, `Z:\`}, `C:\WINDOWS`, []string{`D:\`, `Z:\`}},
		{[]string{`C:\`, `D:\`}, `c:\windows`, []string{`D:\`}},
		{[]string{`C:\`, `D:\`, `E:\`}, `D:\Windows`, []string{`C:\`, `E:\`}},
		{[]string{`C:\`, `D:\`}, "", []string{`D:\`}}, // Windows doesn't tell
		{[]string{`C:\`, `D:\`}, `\\server\boot`, []string{`D:\`}},
		{[]string{`C:\`}, `C:\Windows`, []string{}},
		{nil, `C:\Windows`, []string{}},
	} {
		before := slices.Clone(c.drives)
		if got := besidesSystem(c.drives, c.folder); !slices.Equal(got, c.want) || !slices.Equal(before, c.drives) {
			t.Errorf("%q with %s: %q, want %q", before, c.folder, got, c.want)
		}
	}
}
