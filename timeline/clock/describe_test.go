package clock

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"pushcue/timeline/words"
)

func TestDescribe(t *testing.T) {
	parts := recording(40, 50)
	parts[0].Name, parts[1].Name = "part1.mp4", "part2.mp4"
	alone := []Anchor{at("anchor 1 (row 3)", 100, 131.5, 0.5)}
	for _, c := range []struct {
		name string
		fit  *Fit
		want []string
	}{
		{"one anchor", tie(t, parts, alone...), []string{
			"At the recording's first frame the log's clock showed 10:00:31.5 (± 0.48 s), by the anchors.",
			"No drift can be told: the two clocks run alike to ± 152 ppm (0.55 s an hour).",
			"Nothing ties part2.mp4 to the log.",
		}},
		{"a pause, a gap and a wrong anchor", tie(t, parts, append(alone,
			at("anchor 2 (row 9)", 2300, 2331.5, 0.5), at("anchor 3 (row 12)", 3000, 3400.5, 0.5), at("anchor 4 (row 19)", 3600, 4000.5, 0.5),
			at("anchor 5 (row 20)", 4600, 5031.5, 0.5), at("anchor 6 (row 25)", 5000, 5431.5, 0.5), at("anchor 7 (row 26)", 5300, 5777.5, 0.5))...), []string{
			"At the recording's first frame the log's clock showed 10:00:31.5 (± 0.47 s), by the anchors.",
			"No drift can be told: the two clocks run alike to ± 133 ppm (0.48 s an hour).",
			"part2.mp4 starts at 10:46:40.5 on the log's clock (± 0.48 s), by the anchors; 6 min 9 s after part1.mp4 ended.",
			"The recording was paused for 31 s (± 0.72 s) somewhere between 1:00:00.0 and 1:16:40.0: rows written from 11:06:41 to 11:23:52 can't be placed by the log's clock.",
			"anchor 7 (row 26) doesn't agree with the others and was set aside: its log time is 46 s too late (by them 11:35:32). Look it up again in the recording. If the recording was paused before it, a second anchor after it will show that.",
		}},
		{"a recorder that drops frames", tie(t, parts, at("a", 100, 103, 0.5), at("b", 1300, 1339, 0.5), at("c", 2300, 2369, 0.5)), []string{
			"At the recording's first frame the log's clock showed 10:00:00 (± 0.56 s), by the anchors.",
			"The recording runs 3.0 % too fast: the recorder dropped frames or stretched time, so the log's clock is taken for the better one.",
			"Nothing ties part2.mp4 to the log.",
		}},
		{"a start", FromStart(parts[:1], logAt(11), 0, Options{}), []string{
			"At the recording's first frame the log's clock showed 10:00:11.0 (± 0.02 s), by the start that the job sheet gives.",
			"No drift can be told: the two clocks run alike to ± 152 ppm (0.55 s an hour).",
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			if d := cmp.Diff(c.want, english(c.fit.Describe())); d != "" {
				t.Errorf("(-want +got)\n%s", d)
			}
		})
	}
}

func TestSaySpan(t *testing.T) {
	for _, c := range []struct {
		d    time.Duration
		want string
	}{
		{0, "0.00 s"}, {40 * time.Millisecond, "0.04 s"}, {-996 * time.Millisecond, "1 s"}, {12340 * time.Millisecond, "12.3 s"},
		{95 * time.Second, "1 min 35 s"}, {59990 * time.Millisecond, "1 min"}, {3599600 * time.Millisecond, "1 h"}, {2*time.Hour + 5*time.Minute, "2 h 5 min"},
	} {
		if got := saySpan(c.d); got.String() != c.want {
			t.Errorf("%v is said as %q, want %q", c.d, got, c.want)
		}
	}
}

func english(told []words.Sentence) []string {
	lines := make([]string, len(told))
	for i, s := range told {
		lines[i] = s.String()
	}
	return lines
}
