package frames

import (
	"bytes"
	"context"
	"slices"
	"testing"

	"pushcue/internal/soak"
	"pushcue/internal/testfootage"
)

// What a file's index tells is what ffprobe tells of each of its packets.
func TestIndexTellsWhatThePacketsTell(t *testing.T) {
	untold := []string{"mp4, edit list", "mp4, field pairs"} // pictures cut away; where two packets make a picture
	short := []string{"mp4, varying rate", "mp4, edit list", "mp4, field pairs", "mov, turned", "3gp"}
	for name, spec := range footage {
		if c := spec.Container; c != "" && c != "mp4" && c != "mov" && c != "3gp" || !soak.On() && !slices.Contains(short, name) {
			continue
		}
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			path := testfootage.Numbered(t, spec)
			for where, path := range map[string]string{"behind": path, "in front": indexFirst(t, path)} {
				media, err := tools(t).Probe(context.Background(), path, name)
				if err != nil {
					t.Fatal(err)
				}
				want, err := scanPackets(context.Background(), tools(t), media)
				if err != nil {
					t.Fatal(err)
				}
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
	path := testfootage.Numbered(t, testfootage.Spec{Frames: 250, GOP: 25, BFrames: 2})
	hurt := changed(t, path, func(b []byte) []byte {
		middle := b[len(b)/2:][:len(b)/20]
		copy(middle, bytes.Repeat([]byte{0x5a}, len(middle)))
		return b
	})
	if r := open(t, hurt); r.Parts[0].Damage.Empty() || r.Parts[0].Unread {
		t.Errorf("read through, its damage is %q", r.Parts[0].Damage)
	}
	r, err := Open(context.Background(), tools(t), []string{hurt}, []string{"hurt.mp4"}, Options{Quick: true})
	if err != nil {
		t.Fatal(err)
	}
	if p := r.Parts[0]; !p.Damage.Empty() || !p.Unread || len(r.Times) != 250 {
		t.Errorf("at first sight it has %d pictures, damage %q, unread %v", len(r.Times), p.Damage, p.Unread)
	}
}
