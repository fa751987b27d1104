package frames

import (
	"context"
	"slices"
	"testing"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/soak"
	"pushcue/internal/testfootage"
)

// What a file's index tells is what ffprobe tells of each of its packets.
func TestIndexTellsWhatThePacketsTell(t *testing.T) {
	untold := []string{"mp4, edit list", "mp4, field pairs"} // pictures cut away; where two packets make a picture
	short := []string{"mp4, varying rate", "mp4, edit list", "mp4, field pairs", "mov, turned"}
	for _, name := range kinds(true) {
		if c := footage[name].Container; c != "" && c != "mp4" && c != "mov" && c != "3gp" || !soak.On() && !slices.Contains(short, name) {
			continue
		}
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			media := shared(t, name).Parts[0].Media
			want, err := scanPackets(context.Background(), tools(t), media)
			if err != nil {
				t.Fatal(err)
			}
			front := *media
			front.Source = named(indexFirst(t, media.Source.Path))[0]
			for where, media := range map[string]*ffmpeg.Media{"behind": media, "in front": &front} {
				got := scanIndex(media)
				if got == nil {
					if !slices.Contains(untold, name) {
						t.Errorf("the index %s isn't understood", where)
					}
					continue
				}
				if !slices.Equal(got.shown, want.shown) || got.total != want.total || got.repeated != want.repeated || got.firstKey != want.firstKey {
					t.Errorf("the index %s tells of %d pictures from %d, the packets of %d from %d", where, len(got.shown), got.shown[0], len(want.shown), want.shown[0])
				}
				for _, k := range got.keys {
					if !slices.Contains(want.keys, k) {
						t.Errorf("to the index %s the picture at %d can be begun at, to its packet not", where, k)
					}
				}
				if got.last != 0 && got.last != want.last {
					t.Errorf("the last picture is shown for %d ticks by the index %s, for %d by its packet", got.last, where, want.last)
				}
			}
		})
	}
}

// Read through, a recording's damage is found though its index is whole; at first sight
// it isn't known, which is said.
func TestDamageBehindAWholeIndex(t *testing.T) {
	path := testfootage.Numbered(t, testfootage.Spec{Frames: 120, GOP: 12, BFrames: 2, Width: 160, Height: 120})
	hurt := spoilt(t, path)
	if r := open(t, hurt); r.Parts[0].Damage.Empty() || r.Parts[0].Unread {
		t.Errorf("read through, its damage is %q", r.Parts[0].Damage)
	}
	r, err := Open(context.Background(), tools(t), named(hurt), Options{Quick: true})
	if err != nil {
		t.Fatal(err)
	}
	if p := r.Parts[0]; !p.Damage.Empty() || !p.Unread || len(r.Times) != 120 {
		t.Errorf("at first sight it has %d pictures, damage %q, unread %v", len(r.Times), p.Damage, p.Unread)
	}
}
