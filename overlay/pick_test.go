package overlay

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/internal/ffmpeg"
	"pushcue/timeline"
	"pushcue/timeline/timecode"
)

// numbered is small pictures that carry their number: luma holds N mod 200, a
// colour sample N / 200.
func numbered(n int, seconds string) string {
	return fmt.Sprintf("nullsrc=s=16x16:r=25:d=%f,format=yuv420p,geq=lum='20+mod(N,200)':cb='16+floor(N/200)':cr=128,"+
		"settb=1/1000000,setpts='floor((%s)*1000000+0.5)'", float64(n)/25-0.02, seconds)
}

// The frames picked, and their closed-up times, are those of the plan, on the
// real filters: even and varying rates, one range and five hundred.
func TestPick(t *testing.T) {
	uneven := func(i int) timecode.Video { return timecode.Video(i*20+i*7919%23) * 1e6 }
	for _, c := range []struct {
		name    string
		at      func(int) timecode.Video
		seconds string
		n       int
		marks   []int
		window  time.Duration
		first   int
	}{
		{"25", rate(25, 1), "N/25", 300, []int{20, 30, 100, 250}, 400 * time.Millisecond, 0},
		{"30000/1001", rate(30000, 1001), "N*1001/30000", 300, []int{0, 150, 299}, 300 * time.Millisecond, 0},
		{"varying", uneven, "N*0.02+mod(N*7919,23)/1000", 300, []int{20, 30, 100, 250}, 200 * time.Millisecond, 0},
		{"nothing before frame 15", rate(25, 1), "N/25", 285, []int{20, 100}, 100 * time.Millisecond, 15},
		{"five hundred ranges", rate(25, 1), "N/25", 5000, every(10, 500), 40 * time.Millisecond, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			tl := pushed(c.n+c.first, c.marks...)
			for i := range tl.Recording.Frames {
				tl.Recording.Frames[i] = c.at(i)
			}
			tl.Recording.End = c.at(c.n + c.first)
			tl.ShowTo = tl.Recording.End
			for i, o := range tl.Observations {
				tl.Observations[i].Video = c.at(o.Frame)
			}
			tl.Sheet.Clips.Lead, tl.Sheet.Clips.Tail = c.window, c.window
			comparePicked(t, tl, PlanFindings(tl), numbered(c.n, c.seconds), c.first)
		})
	}
}

func every(step, n int) (at []int) {
	for i := range n {
		at = append(at, i*step)
	}
	return at
}

func comparePicked(t *testing.T, tl *timeline.Timeline, f Findings, source string, first int) {
	t.Helper()
	late := lavfi(source).Filter("setpts", ff.Args{fmt.Sprintf("PTS+%d/25/TB", first)})
	picked := f.CloseUp(f.Pick(late, first)).Split()
	times := filepath.Join(t.TempDir(), "times")
	raw := run(t, ffmpeg.Run{Args: ff.MergeOutputs(
		picked.Get("0").Output("pipe:1", ff.KwArgs{"f": "rawvideo", "fps_mode": "passthrough"}),
		picked.Get("1").Output("file:"+times, ff.KwArgs{"f": "framecrc", "fps_mode": "passthrough", "enc_time_base": "1:90000"}),
	).GetArgs()})
	list, err := os.ReadFile(times)
	if err != nil {
		t.Fatal(err)
	}
	var pts []int64
	for line := range strings.Lines(string(list)) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		v, err := strconv.ParseInt(strings.TrimSpace(strings.Split(line, ",")[2]), 10, 64)
		if err != nil {
			t.Fatal(err)
		}
		pts = append(pts, v)
	}
	const size = 16 * 16 * 3 / 2
	if len(raw) != f.Frames*size || len(pts) != f.Frames {
		t.Fatalf("%d frames and %d times came out, want %d", len(raw)/size, len(pts), f.Frames)
	}
	i := 0
	for _, r := range f.Ranges {
		for frame := r.First; frame <= r.Last; frame++ {
			picture := raw[i*size:]
			if got := int(picture[0]) - 20 + 200*(int(picture[256])-16); got != frame-first {
				t.Fatalf("picture %d is frame %d, want %d", i, got+first, frame)
			}
			if want := f.timeOf(frame).Seconds() * 90000; math.Abs(float64(pts[i])-want) > 1 {
				t.Fatalf("picture %d (frame %d) is at %d/90000 s, want %.1f", i, frame, pts[i], want)
			}
			i++
		}
	}
}

func TestPickOfNothing(t *testing.T) {
	if raw := render(t, Findings{}.CloseUp(Findings{}.Pick(lavfi(numbered(10, "N/25")), 0)), nil); len(raw) != 0 {
		t.Errorf("%d bytes came out", len(raw))
	}
}
