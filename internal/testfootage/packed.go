package testfootage

import (
	"bytes"
	"context"
	"encoding/binary"
	mathbits "math/bits"
	"os"
	"path/filepath"
)

// encodePacked makes the MPEG-4 that early PC recorders put into AVI, a format
// without presentation times: a B-frame travels in the packet of the frame it
// leans on, and an empty picture later makes up for it. The number of frames
// must be 1 more than a multiple of BFrames+1.
func (s Spec) encodePacked(ctx context.Context, path string) error {
	raw := filepath.Join(filepath.Dir(path), "pictures.m4v")
	defer os.Remove(raw)
	plain := s
	plain.Codec, plain.Container = "mpeg4", "m4v"
	if err := plain.encode(ctx, raw); err != nil {
		return err
	}
	stream, err := os.ReadFile(raw)
	if err != nil {
		return err
	}
	return os.WriteFile(path, s.avi(s.pack(pictures(stream))), 0o644)
}

const ( // start codes of ISO/IEC 14496-2
	codeUserData = 0xB2
	codePicture  = 0xB6
)

// pictures splits an elementary stream in coding order; headers go with the
// picture after them, and the encoder's own note makes way for the one by which
// players know packed pictures.
func pictures(stream []byte) [][]byte {
	var all [][]byte
	var next []byte
	for len(stream) > 4 {
		end := bytes.Index(stream[4:], []byte{0, 0, 1})
		unit := stream
		if end >= 0 {
			unit = stream[:4+end]
		}
		stream = stream[len(unit):]
		switch unit[3] {
		case codeUserData:
			next = append(next, "\x00\x00\x01\xB2DivX503b1393p"...)
		case codePicture:
			all = append(all, append(next, unit...))
			next = nil
		default:
			next = append(next, unit...)
		}
	}
	return all
}

// pack puts the first B-frame of each run into the packet ahead of it, and an
// empty picture behind the run.
func (s Spec) pack(coded [][]byte) [][]byte {
	var packets [][]byte
	for i := 0; i < len(coded); {
		run := i + 1
		for run < len(coded) && isB(coded[run]) {
			run++
		}
		if run == i+1 {
			packets = append(packets, coded[i])
		} else {
			packets = append(packets, append(bytes.Clone(coded[i]), coded[i+1]...))
			packets = append(packets, coded[i+2:run]...)
			packets = append(packets, s.empty(coded[i]))
		}
		i = run
	}
	return packets
}

func picture(packet []byte) []byte {
	return packet[bytes.Index(packet, []byte{0, 0, 1, codePicture}):]
}

func isB(packet []byte) bool { return picture(packet)[4]>>6 == 2 }

// empty is a picture of the same moment that says it has nothing to show: its
// kind, whole seconds in ones up to a zero, a one, the ticks, a one, and a zero
// where other pictures go on.
func (s Spec) empty(of []byte) []byte {
	in := picture(of)[4:]
	bit := func(i int) int { return int(in[i/8] >> (7 - i%8) & 1) }
	ticks := 2
	for bit(ticks) == 1 {
		ticks++
	}
	ticks += 2
	end := ticks + mathbits.Len(uint(s.Rate.Num-1)) + 1
	var b bits
	for i := range end {
		b.u(1, bit(i))
	}
	b.u(2, 0b00)
	for b.free > 0 {
		b.u(1, 1)
	}
	return append([]byte{0, 0, 1, codePicture}, b.bytes...)
}

// avi wraps packets as one stream of MPEG-4 video with an index.
func (s Spec) avi(packets [][]byte) []byte {
	le := binary.LittleEndian
	u := func(values ...int) []byte {
		var b []byte
		for _, v := range values {
			b = le.AppendUint32(b, uint32(v))
		}
		return b
	}
	chunk := func(name string, parts ...[]byte) []byte {
		body := bytes.Join(parts, nil)
		b := append([]byte(name), u(len(body))...)
		b = append(b, body...)
		return append(b, make([]byte, len(body)%2)...)
	}
	list := func(name, kind string, parts ...[]byte) []byte {
		return chunk(name, append([][]byte{[]byte(kind)}, parts...)...)
	}
	const hasIndex, keyFrame = 0x10, 0x10
	var movie, index [][]byte
	at := 4
	for i, packet := range packets {
		flags := 0
		if i%s.GOP == 0 && !isB(packet) && picture(packet)[4]>>6 == 0 {
			flags = keyFrame
		}
		c := chunk("00dc", packet)
		movie = append(movie, c)
		index = append(index, []byte("00dc"), u(flags, at, len(packet)))
		at += len(c)
	}
	micros := 1_000_000 * s.Rate.Den / s.Rate.Num
	main := u(micros, 0, 0, hasIndex, len(packets), 0, 1, 1<<20, s.Width, s.Height, 0, 0, 0, 0)
	stream := append([]byte("vidsDX50"), u(0, 0, 0, s.Rate.Den, s.Rate.Num, 0, len(packets), 1<<20, -1, 0, 0, 0)...)
	format := append(u(40, s.Width, s.Height, 24<<16|1), "DX50"...)
	format = append(format, u(3*s.Width*s.Height, 0, 0, 0, 0)...)
	return list("RIFF", "AVI ",
		list("LIST", "hdrl", chunk("avih", main), list("LIST", "strl", chunk("strh", stream), chunk("strf", format))),
		list("LIST", "movi", movie...), chunk("idx1", index...))
}
