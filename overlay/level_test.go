package overlay

import "testing"

// Sizes and rates as the standard's own table of examples has them (ITU-T H.264,
// Annex A, table A-6, from memory: 1920×1080 at up to 30.1 a second is level 4
// and 4.1, at up to 64.0 level 4.2; 1280×720 at up to 68.3 is level 4.1).
func TestLevel(t *testing.T) {
	for _, c := range []struct {
		name          string
		width, height int
		rate          float64
		level         string
		ok            bool
	}{
		{"full HD at 30", 1920, 1080, 30, "4.1", true},
		{"full HD just past 4.1", 1920, 1080, 30.2, "4.2", true},
		{"full HD at 64", 1920, 1080, 64, "4.2", true},
		{"full HD past 4.2", 1920, 1080, 64.1, "4.2", false},
		{"full HD upright", 1080, 1920, 30, "4.1", true},
		{"HD at 68.2", 1280, 720, 68.2, "4.1", true},
		{"HD at 68.4", 1280, 720, 68.4, "4.2", true},
		{"one macroblock too many", 2048, 1040, 1, "4.2", false},
		{"exactly full", 2048, 1024, 30, "4.1", true},
		{"too long a side", 4112, 16, 1, "4.2", false},
		{"longest side", 4096, 512, 30, "4.1", true},
		{"small and very fast", 320, 240, 240, "4.1", true},
	} {
		level, ok := Level(c.width, c.height, c.rate)
		if ok != c.ok || ok && level != c.level {
			t.Errorf("%s: level %s, %v; want %s, %v", c.name, level, ok, c.level, c.ok)
		}
	}
}
