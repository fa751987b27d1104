package testfootage

import (
	"context"
	"os"
	"path/filepath"
	"strconv"
)

// encodeFields codes each field as a picture of its own, as broadcast recorders
// do and no encoder within reach does: two packets a frame. It is H.264
// (ITU-T H.264, clauses 7.3.2 to 7.3.5) whose blocks all hold plain samples.
func (s Spec) encodeFields(ctx context.Context, path string) error {
	raw := filepath.Join(filepath.Dir(path), "fields.h264")
	defer os.Remove(raw)
	file, err := os.Create(raw)
	if err != nil {
		return err
	}
	defer file.Close()
	p := newPainter(s)
	f := fieldCoder{wide: (s.Width + 15) / 16, high: (s.Height + 31) / 32, width: s.Width, height: s.Height}
	for i := range s.Frames {
		stream := f.frame(p.paint(i), i%s.GOP, i/s.GOP)
		if i%s.GOP == 0 {
			stream = append(f.headers(s), stream...)
		}
		if _, err := file.Write(stream); err != nil {
			return err
		}
	}
	if err := file.Close(); err != nil {
		return err
	}
	args := []string{"-f", "h264", "-framerate", strconv.Itoa(s.Rate.Num) + "/" + strconv.Itoa(s.Rate.Den), "-i", raw, "-c", "copy"}
	return run(ctx, nil, append(append(args, s.muxer()...), path)...)
}

// A fieldCoder knows the picture's size in samples, and in blocks a field.
type fieldCoder struct{ width, height, wide, high int }

func (f fieldCoder) headers(s Spec) []byte {
	var sps bits
	sps.u(8, 77) // Main
	sps.u(8, 0)
	sps.u(8, 30) // level 3
	sps.ue(0)
	sps.ue(0) // frame_num has 4 bits
	sps.ue(0) // order of output is written
	sps.ue(4) // in 8 bits
	sps.ue(1)
	sps.u(1, 0)
	sps.ue(f.wide - 1)
	sps.ue(f.high - 1)
	sps.u(3, 0b001) // fields allowed, not adaptive by block, direct 8x8
	sps.u(1, 1)     // cropped
	for _, by := range []int{0, (16*f.wide - f.width) / 2, 0, (32*f.high - f.height) / 4} {
		sps.ue(by)
	}
	sps.u(1, 1)      // usability information
	sps.u(4, 0b0000) // shape, overscan, signal, chroma place: unsaid
	sps.u(1, 1)
	sps.u(32, s.Rate.Den)
	sps.u(32, 2*s.Rate.Num)
	sps.u(1, 1)
	sps.u(4, 0b0001) // only the limits of reordering
	sps.u(1, 1)
	for _, v := range []int{0, 0, 10, 10, 0, 1} {
		sps.ue(v)
	}

	var pps bits
	pps.ue(0)
	pps.ue(0)
	pps.u(2, 0)
	for range 3 {
		pps.ue(0)
	}
	pps.u(3, 0)
	for range 3 {
		pps.ue(0)
	}
	pps.u(3, 0b100) // the slice says how its edges are smoothed
	return append(sps.unit(0x67), pps.unit(0x68)...)
}

// frame codes both fields of the n-th frame since a key frame, the top one first.
func (f fieldCoder) frame(yuv []byte, n, key int) []byte {
	var out []byte
	for bottom := range 2 {
		var b bits
		b.ue(0)
		b.ue(7) // nothing but blocks that stand for themselves
		b.ue(0)
		b.u(4, n%16)
		b.u(2, 0b10|bottom)
		header := 0x61
		if n == 0 && bottom == 0 {
			header = 0x65
			b.ue(key % 2)
		}
		b.u(8, (2*n+bottom)%256)
		if header == 0x65 {
			b.u(2, 0)
		} else {
			b.u(1, 0)
		}
		b.ue(0)
		b.ue(1) // edges not smoothed
		for y := range f.high {
			for x := range f.wide {
				b.ue(25) // plain samples
				b.align()
				f.samples(&b, yuv, x, y, bottom)
			}
		}
		out = append(out, b.unit(byte(header))...)
	}
	return out
}

// samples writes the block at x, y of a field: luma, then both chromas.
func (f fieldCoder) samples(b *bits, yuv []byte, x, y, bottom int) {
	half, tall := f.width/2, f.height/2
	for plane, size := range []int{16, 8, 8} {
		w, h := f.width, f.height
		if plane > 0 {
			w, h = half, tall
		}
		for dy := range size {
			line := min(2*(y*size+dy)+bottom, h-1)
			for dx := range size {
				b.bytes = append(b.bytes, yuv[line*w+min(x*size+dx, w-1)])
			}
		}
		yuv = yuv[w*h:]
	}
}
