package handover

import (
	"encoding/json"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pushcue/internal/handover/otio"
	"pushcue/internal/shelf"
	"pushcue/internal/testfootage"
)

func editListOf(t *testing.T, out string) *otio.Timeline {
	t.Helper()
	list := new(otio.Timeline)
	d := json.NewDecoder(strings.NewReader(content(t, filepath.Join(out, editListName))))
	d.DisallowUnknownFields()
	if err := d.Decode(list); err != nil {
		t.Fatal(err)
	}
	return list
}

// A file of this shape, with two parts, markers, gaps and excerpts that overlap, and one
// with all its media, were also read once by the format's own library in C++
// (Timeline::from_json_file, at commits bc5fe2d78dc3 and 6fe056b70fba, built with g++,
// Imath and RapidJSON): they loaded without an error, and range_in_parent of each clip and
// the marked range of each marker, transformed to the stack, were the times in the recording.
func TestTheEditListHoldsPartsMarkersAndExcerpts(t *testing.T) {
	t.Parallel()
	film := testfootage.Numbered(t, testfootage.Spec{Frames: 50, Width: 160, Height: 120})
	log := "video,distance,to,what,urgency,note\n0:01.20,0.8 m,,roots,repair,at the joint\n0:01.60,1.0 m,,crack,,\n0:02.40,1.4 m,,hole,at once,\n0:03.80,1.9 m,,crack,,\n"
	dir := jobOf(t, "[recording]\nshow_to = \"0:03.6\"\n[clips]\nlead = \"0.2s\"\ntail = \"0.4s\"\n", log, film, film)
	o := Options{Only: []string{"otio"}}
	r := makeJob(t, dir, o)
	list := editListOf(t, r.Out)
	if n := len(list.Tracks.Children); n != 3 {
		t.Fatalf("%d tracks, want the recording and two for excerpts that overlap", n)
	}
	parts := list.Tracks.Children[0].Children
	if len(parts) != 2 || parts[0].Range.Duration.Value != 50 || parts[1].Range.Duration.Value != 40 || parts[1].Name != "part2.mp4" {
		t.Fatalf("the parts: %+v", parts)
	}
	if ref := parts[1].Media[parts[1].Active]; ref.Schema != "MissingReference.1" || ref.Name != "part2.mp4" || ref.Available.Duration.Value != 50 {
		t.Errorf("the copy as filmed wasn't made, and the clip has %+v", ref)
	}
	if len(parts[0].Markers) != 2 || len(parts[1].Markers) != 1 { // the fourth row lies outside of what is shown
		t.Fatalf("markers: %+v, %+v", parts[0].Markers, parts[1].Markers)
	}
	m, second := parts[0].Markers[0], parts[1].Markers[0]
	if m.Older == nil || *m.Older != m.Marked {
		t.Errorf("the range under its older name: %+v", m.Older)
	}
	if m.Name != "1. roots" || m.Comment != "0.8 m · repair · at the joint" || m.Color != "ORANGE" || m.Marked.Start.Value != 30 || m.Marked.Start.Rate != 25 {
		t.Errorf("%+v", m)
	}
	if second.Name != "3. hole" || second.Color != "RED" || second.Marked.Start.Value != 10 {
		t.Errorf("in the second part: %+v", second)
	}
	data := m.Metadata["pushcue"].(map[string]any)
	for key, want := range map[string]any{"number": 1.0, "row": 1.0, "distance_m": 0.8, "basis": "video", "urgency": "repair", "track_m": nil} {
		if got, there := data[key]; got != want || !there {
			t.Errorf("%s is %v, want %v", key, got, want)
		}
	}
	if data["uncertainty_s"].(float64) <= 0 {
		t.Errorf("± %v", data["uncertainty_s"])
	}
	for i, want := range [][]float64{{25, 16, 14, 16}, {35, 15}} { // gap, excerpt, gap, excerpt; gap, excerpt up to the part's end
		var got []float64
		for _, item := range list.Tracks.Children[1+i].Children {
			got = append(got, item.Range.Duration.Value)
		}
		if !slices.Equal(got, want) {
			t.Errorf("track %d of excerpts: %v, want %v", i+1, got, want)
		}
	}
	before := content(t, filepath.Join(r.Out, editListName))
	if r := makeJob(t, dir, o); len(r.Made) > 0 || content(t, filepath.Join(r.Out, editListName)) != before {
		t.Errorf("made anew: %q", r.Made)
	}
}

func TestTheEditListNamesFilesThatAreThere(t *testing.T) {
	t.Parallel()
	dir := jobOf(t, "", shortLog, plain(t))
	r := makeJob(t, dir, Options{Only: []string{"video", "clips", "otio"}})
	list := editListOf(t, r.Out)
	listed := content(t, filepath.Join(r.Out, shelf.SumsName))
	files := 0
	for _, track := range list.Tracks.Children {
		for _, clip := range track.Children {
			for _, ref := range clip.Media {
				files++
				if ref.Schema != "ExternalReference.1" || !strings.Contains(listed, "  "+ref.URL+"\n") {
					t.Errorf("%s: %+v", clip.Name, ref)
				}
			}
		}
	}
	if files != 3 {
		t.Errorf("%d files, want the recording and two excerpts", files)
	}
}
