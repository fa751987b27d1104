package job

import (
	"slices"
	"sort"
	"testing"
)

func TestPartsAreOrderedAsPeopleCount(t *testing.T) {
	want := []string{"MOV001.avi", "MOV2.avi", "mov10.avi", "part 9b.mp4", "part 10a.mp4", "part 10b.mp4", "x99999999999999999999998.ts", "x99999999999999999999999.ts"}
	got := slices.Clone(want)
	slices.Reverse(got)
	sort.Slice(got, func(a, b int) bool { return naturalLess(got[a], got[b]) })
	if !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}
