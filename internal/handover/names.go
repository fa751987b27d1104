package handover

import (
	"fmt"
	"strconv"
	"strings"

	"pushcue/internal/job"
	"pushcue/timeline"
	"pushcue/timeline/wording"
)

// pictureName is the name, without its ending, of what is made of an observation:
// 03_12.4m_roots. It holds ASCII letters, digits, '.', '-' and '_' only.
func pictureName(o *timeline.Observation, width int, w *wording.Wording) string {
	parts := []string{fmt.Sprintf("%0*d", width, o.Number)}
	if at := w.LengthInName(o); at != "" {
		parts = append(parts, at)
	}
	if word := job.PlainWord(w.ShortKind(o.Entry), job.LongestWord); word != "" {
		parts = append(parts, word)
	}
	return strings.Join(parts, "_")
}

// numberWidth is the digits that the last of n numbers needs, two at least.
func numberWidth(n int) int { return max(2, len(strconv.Itoa(n))) }
