package proof

import (
	"path/filepath"
	"testing"
)

// Handovers and archives that earlier versions made are proven by this one, and an
// archive's seal, which was noted elsewhere when it was made, is still the same.
func TestEarlierVersionsHandoversAndArchivesAreProven(t *testing.T) {
	const base = "../../../testdata/formats/2026-11/"
	for name, want := range map[string]struct {
		sort  Sort
		files int
		seal  string
	}{
		"job/handover":              {Handover, 33, ""},
		"visit/handover":            {Handover, 25, ""},
		"visit/handover-buyer":      {Handover, 3, ""},
		"small/handover":            {Handover, 5, ""},
		"bags/fx-02_2026-05-06.zip": {Bag, 35, "3f6d6c7356327796457cf77b98bba5b81053daa8259c5b512730068a8371e179d23ab8146edec406b6d917ca84025b22a553815789c564a3460bc65e0d90b518"},
		"bags/fx-03.tar":            {Bag, 9, "caba653bd4cf720b334f13cc9e8139923bbb3199277de15ef24f1dc982b37ecfc501170a82f7cd2f9f7aa6f1ae5c5070be678df104b1da43650c7cfe6e276763"},
		"bags/fx-03":                {Bag, 9, "caba653bd4cf720b334f13cc9e8139923bbb3199277de15ef24f1dc982b37ecfc501170a82f7cd2f9f7aa6f1ae5c5070be678df104b1da43650c7cfe6e276763"},
	} {
		found, err := Find(t.Context(), filepath.FromSlash(base+name))
		if err != nil || len(found) != 1 || found[0].Sort != want.sort {
			t.Errorf("%s: found %v, %v", name, found, err)
			continue
		}
		r, err := Check(t.Context(), found[0], nil)
		if err != nil || !r.Good() || r.Files != want.files || r.Seal != want.seal {
			t.Errorf("%s: %+v, %v", name, r, err)
		}
	}
}
