package main

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"pushcue/internal/job"
	"pushcue/internal/placing"
)

func TestBelongingsAreTold(t *testing.T) {
	of := func(name string, rows ...int) placing.Attached {
		return placing.Attached{Source: job.Source{Name: name}, Rows: rows}
	}
	p := &placing.Placed{
		Spoken: []placing.Attached{of("spoken/3.m4a", 3), of("spoken/both.m4a", 2, 3), of("spoken/nobody.m4a")},
		Photos: []placing.Attached{of("photos/1.jpg", 3)},
	}
	want := []string{"spoken/3.m4a belongs to row 3", "spoken/both.m4a belongs to rows 2, 3", "photos/1.jpg belongs to row 3"}
	if diff := cmp.Diff(want, belongings(p)); diff != "" {
		t.Error(diff)
	}
	want = []string{"Photographed: photos/1.jpg.", "Spoken: spoken/3.m4a.", "Spoken: spoken/both.m4a."}
	if diff := cmp.Diff(want, belongingsOf(p, 3)); diff != "" {
		t.Error(diff)
	}
}
