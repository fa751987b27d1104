package handover

import (
	"path"
	"slices"
	"strings"

	"pushcue/internal/job"
	"pushcue/internal/placing"
	"pushcue/timeline"
)

// attachedNames names what was spoken or photographed: as the first observation that
// it belongs to, else by its own name. No two differ in case alone.
func (m *making) attachedNames(all []placing.Attached) []string {
	names := make([]string, len(all))
	for i, a := range all {
		base := path.Base(a.Name)
		names[i] = strings.TrimSuffix(job.SourceName(base), path.Ext(base))
		for _, o := range m.placed.Timeline.Observations {
			if slices.Contains(a.Rows, o.Row) {
				names[i] = m.pictureName(o)
				break
			}
		}
	}
	for i, name := range job.Distinct(withEnding(names, ".x")) { // an ending, so that the one in 12.4m isn't taken for it
		names[i] = strings.TrimSuffix(name, ".x")
	}
	return names
}

func withEnding(names []string, ending string) []string {
	out := make([]string, len(names))
	for i, n := range names {
		out[i] = n + ending
	}
	return out
}

// belongs returns which of the rows that a note or photo belongs to are shown; row 0, the
// push as a whole, where it belongs to none.
func (m *making) belongs(rows []int) []int {
	t := m.placed.Timeline
	shown := slices.DeleteFunc(slices.Clone(rows), func(r int) bool {
		return !slices.ContainsFunc(t.Observations, func(o timeline.Observation) bool { return o.Row == r }) &&
			!slices.ContainsFunc(t.Unplaced, func(u timeline.Unplaced) bool { return u.Row == r })
	})
	if len(shown) == 0 {
		return []int{0}
	}
	return shown
}
