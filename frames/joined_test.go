package frames

import (
	"slices"
	"testing"
	"time"

	"pushcue/internal/soak"
	"pushcue/internal/testfootage"
	"pushcue/timeline/timecode"
)

var ntsc = timecode.Rate{Num: 30000, Den: 1001}

// footage is every kind of recording that frames are counted in.
var footage = map[string]testfootage.Spec{
	"mp4, GOP 60, B-frames, late start, 29.97": {Frames: 150, GOP: 60, BFrames: 2, StartOffset: 3 * time.Second, Rate: ntsc, Audio: true, AudioDelay: time.Second},
	"mp4, GOP 250":                    {Frames: 300, GOP: 250, BFrames: 3, Width: 160, Height: 120},
	"mp4, edit list":                  {PreRoll: 5, BFrames: 2},
	"mp4, varying rate":               {VFR: true, Frames: 90, BFrames: 2},
	"mp4, field pairs":                {Codec: "h264-fields"},
	"mov, turned":                     {Container: "mov", Rotation: 90, BFrames: 2},
	"mov, turned, interlaced":         {Container: "mov", Rotation: 270, Interlaced: true, Height: 256},
	"mp4, odd pixels":                 {SAR: timecode.Rate{Num: 64, Den: 51}, Width: 340, Height: 256},
	"mp4, tall pixels, 29.97":         {SAR: timecode.Rate{Num: 8, Den: 9}, Rate: ntsc},
	"3gp":                             {Container: "3gp", Codec: "mpeg4"},
	"avi, MJPEG":                      {Container: "avi", Rate: ntsc},
	"avi, MPEG-4":                     {Container: "avi", Codec: "mpeg4"},
	"avi, MPEG-4, B-frames":           {Container: "avi", Codec: "mpeg4", BFrames: 2, Rate: ntsc},
	"avi, MPEG-4, packed B-frames":    {Container: "avi", Codec: "mpeg4-packed", BFrames: 1},
	"avi, MPEG-2, B-frames":           {Container: "avi", Codec: "mpeg2", BFrames: 2, Interlaced: true},
	"avi, H.264":                      {Container: "avi", Codec: "h264", BFrames: 2, Audio: true},
	"mkv":                             {Container: "mkv", BFrames: 2, Rate: ntsc},
	"mkv, varying rate":               {Container: "mkv", VFR: true, Frames: 90, BFrames: 2},
	"webm":                            {Container: "webm"},
	"ts":                              {Container: "ts", BFrames: 2, GOP: 60, Frames: 150, Rate: ntsc, Audio: true},
	"ts, open groups, late start":     {Container: "ts", BFrames: 2, OpenGOP: true, StartOffset: time.Hour},
	"ts, field pairs":                 {Container: "ts", Codec: "h264-fields"},
	"ts, clock runs over its 33 bits": {Container: "ts", BFrames: 2, StartOffset: 95442 * time.Second, Frames: 100},
	"m2ts, interlaced":                {Container: "m2ts", Codec: "mpeg2", Interlaced: true, BFrames: 2},
	"mpg":                             {Container: "mpg", BFrames: 2, Interlaced: true},
	"flv":                             {Container: "flv", BFrames: 2},
	"wmv":                             {Container: "wmv"},
	"mxf":                             {Container: "mxf", BFrames: 2},
	"dv":                              {Container: "dv", Frames: 25},
}

// combinations are recordings whose container, codec and timing each stand elsewhere in
// footage too: only a soak goes through them.
var combinations = []string{
	"mp4, GOP 250", "mov, turned, interlaced", "mp4, odd pixels", "mp4, tall pixels, 29.97", "3gp", "avi, MPEG-4",
	"avi, MPEG-4, B-frames", "avi, MPEG-2, B-frames", "mkv", "ts, field pairs",
}

// kinds are the names of footage; combinations are among them where all is set.
func kinds(all bool) (names []string) {
	for name := range footage {
		if all || !slices.Contains(combinations, name) {
			names = append(names, name)
		}
	}
	return names
}

// One run over each recording gives each frame once, in order, at the time that the table
// and the maker of the recording say, and the stills that were wanted on the way.
func TestTableAndPicturesAgree(t *testing.T) {
	for _, name := range kinds(soak.On()) {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := shared(t, name)
			want := footage[name].Times()
			if len(r.Times) != len(want) {
				t.Fatalf("the table has %d frames, the recording %d", len(r.Times), len(want))
			}
			for i := range want {
				// A millisecond is the finest that Matroska, FLV and ASF know.
				if off := r.Times[i].Sub(0) - want[i]; off.Abs() > time.Millisecond {
					t.Fatalf("frame %d stands at %v in the table, it is shown at %v", i, r.Times[i].Sub(0), want[i])
				}
			}
			wants := append(every(r, 0, 37, 0), veryLast(r))
			p := pass(t, r, true, wants...)
			inOrder(t, r, p)
			exact(t, wants, p.stills)
		})
	}
}

// inOrder checks that each frame passed once, in order, at its time.
func inOrder(t *testing.T, r *Recording, p passed) {
	t.Helper()
	if len(p.numbers) != len(r.Times) || len(p.at) != len(r.Times) {
		t.Fatalf("%d pictures and %d times passed, the table has %d", len(p.numbers), len(p.at), len(r.Times))
	}
	for i := range r.Times {
		part := r.partOf(i)
		if p.numbers[i] != i-part.First {
			t.Fatalf("picture %d carries the number %d, not %d", i, p.numbers[i], i-part.First)
		}
		if off := p.at[i].Sub(r.Times[i]); off.Abs() > 2*time.Microsecond {
			t.Fatalf("picture %d passes at %v, the table says %v", i, p.at[i].Sub(0), r.Times[i].Sub(0))
		}
	}
	if want := int(sampleAt(r.End)); p.samples != 0 && p.samples != want {
		t.Errorf("there are %d samples of sound for pictures that take %d", p.samples, want)
	}
}

func TestPartsAreJoinedToTheFrame(t *testing.T) {
	first := testfootage.Spec{Frames: 40, BFrames: 2, Rate: ntsc, StartOffset: 2 * time.Second, Audio: true}
	paths := []string{
		testfootage.Numbered(t, first),
		testfootage.Numbered(t, testfootage.Spec{Container: "avi", Width: 400, Height: 240}),
		testfootage.Numbered(t, testfootage.Spec{Container: "mkv", VFR: true, Frames: 60, Audio: true, AudioDelay: 300 * time.Millisecond}),
		testfootage.Numbered(t, testfootage.Spec{Container: "ts", Interlaced: true, SAR: timecode.Rate{Num: 16, Den: 15}, Audio: true}),
		testfootage.Numbered(t, first), // the same file again
	}
	r := open(t, paths...)
	if r.Width != 320 || r.Height != 240 {
		t.Errorf("the whole is %dx%d, the first part 320x240", r.Width, r.Height)
	}
	for i, p := range r.Parts[1:] {
		before := r.Parts[i]
		if p.Start != before.Start.Add(before.Length) || p.First != before.First+before.Count {
			t.Errorf("part %d starts at %v with frame %d, the one before ends at %v with frame %d", i+1, p.Start, p.First, before.Start.Add(before.Length), before.First+before.Count)
		}
	}
	p := pass(t, r, true)
	inOrder(t, r, p)
	if p.samples == 0 {
		t.Error("the parts' sound is lost")
	}

	// Stills by seeking come from the part that their moment lies in.
	for id, s := range fetch(t, r, every(r, 7, 36, 200*time.Millisecond)) {
		part := r.partOf(id)
		if r.partOf(s.Best.Index) != part {
			t.Errorf("the still of frame %d was taken in another part", id)
		}
		if n, _ := testfootage.ReadNumber(s.Picture); n != s.Best.Index-part.First {
			t.Errorf("the still says frame %d of its part and carries %d", s.Best.Index-part.First, n)
		}
	}
}

func TestPartIsAsLongAsItsPictures(t *testing.T) {
	for name, want := range map[string]time.Duration{
		"mp4, GOP 60, B-frames, late start, 29.97": time.Duration(150 * 1001 * int64(time.Second) / 30000),
		"avi, MJPEG":                      time.Duration(50 * 1001 * int64(time.Second) / 30000),
		"mp4, field pairs":                2 * time.Second,
		"ts, clock runs over its 33 bits": 4 * time.Second,
	} {
		r := shared(t, name)
		if got := r.End.Sub(0); (got - want).Abs() > time.Millisecond {
			t.Errorf("%s: %v long, should be %v", name, got, want)
		}
	}
}

func TestFrameAt(t *testing.T) {
	r := shared(t, "mp4, varying rate")
	for i := range r.Times {
		f := r.Frame(i)
		for _, v := range []timecode.Video{f.At, f.At + 1, f.Until - 1} {
			if got := r.FrameAt(v); got != f {
				t.Fatalf("at %v frame %d is shown, not %d", v, f.Index, got.Index)
			}
		}
	}
	if got := r.FrameAt(-5).Index; got != 0 {
		t.Errorf("before the start frame %d is shown", got)
	}
	if got := r.FrameAt(r.End + 5).Index; got != len(r.Times)-1 {
		t.Errorf("after the end frame %d is shown", got)
	}
}
