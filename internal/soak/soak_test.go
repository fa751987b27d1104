package soak

import "testing"

func TestCountRunsFromTheShortRunToAWholeNight(t *testing.T) {
	for _, c := range []struct {
		set  string
		on   bool
		want int
	}{{"", false, 5}, {"0", false, 5}, {"0.1", true, 14}, {"0.5", true, 48}, {"1", true, 90}} {
		t.Setenv("PUSHCUE_SOAK", c.set)
		if got := Count(5, 90); got != c.want || On() != c.on {
			t.Errorf("PUSHCUE_SOAK=%q: %d, on %v, want %d, %v", c.set, got, On(), c.want, c.on)
		}
	}
}

func TestAShareThatIsNoneIsRefused(t *testing.T) {
	for _, set := range []string{"yes", "-1", "1.5", "NaN"} {
		t.Run(set, func(t *testing.T) {
			t.Setenv("PUSHCUE_SOAK", set)
			defer func() {
				if recover() == nil {
					t.Error("taken")
				}
			}()
			On()
		})
	}
}
