package spoken

import (
	"math"
	"testing"
	"time"

	"pushcue/overlay"
)

func TestANarratedStillFitsOrdinaryPlayers(t *testing.T) {
	for _, s := range []Still{{Width: 1280, Height: 768}, {Width: 640, Height: 585}, {Width: 4000, Height: 3000}, {Width: 3000, Height: 4096}, {Width: 4096, Height: 300}, {Width: 17, Height: 9}} {
		width, height, level := s.fit()
		if width%2+height%2 != 0 || width > s.Width || overlay.Macroblocks(width, height) > overlay.MostMacroblocks || level != "4.1" {
			t.Errorf("%+v is shown at %d by %d, level %s", s, width, height, level)
		}
		if was, is := float64(s.Width)/float64(s.Height), float64(width)/float64(height); s.Width > 100 && math.Abs(was-is) > 0.03*was {
			t.Errorf("%+v is stretched to %d by %d", s, width, height)
		}
	}
}

// What lies behind a hold moves by it, and by all before it; the last picture stays for
// the last one.
func TestHoldsAddUp(t *testing.T) {
	f := Film{Frames: 30, Last: 40 * time.Millisecond, Holds: []Hold{
		{Frames: 10, Length: 2 * time.Second}, {Frames: 20, Length: 1005 * time.Millisecond}, {Frames: 30, Length: time.Second}}}
	const by = "if(lt(N,20),if(lt(N,10),0,180000),if(lt(N,30),270900,360900))" // 1.005 s is rounded up to 1.01 s
	if got, want := f.shift(), "setts=pts='PTS+"+by+"':dts='DTS+"+by+"':duration=93600"; got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}
