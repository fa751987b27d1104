package main

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"image/jpeg"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"time"

	"github.com/disintegration/imaging"

	"pushcue/internal/footage"
)

// What the technician says of the roots, spoken by a machine: nobody's voice is kept.
const said = "Row three. Roots through the joint, four point seven metres in, upper half of the pipe. " +
	"Paper is caught on them. I could push past. I would cut these out, then film again to see the joint."

// speak has espeak-ng say it, and stores it as a phone would.
func speak(ctx context.Context, folder string) error {
	program, err := exec.LookPath("espeak-ng")
	if err != nil {
		return fmt.Errorf("the spoken note of the demo needs espeak-ng: install it and run this again")
	}
	dir, err := os.MkdirTemp("", "footage-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	wave := filepath.Join(dir, "said.wav")
	for _, c := range []*exec.Cmd{
		exec.CommandContext(ctx, program, "-v", "en-gb", "-s", "150", "-a", "40", "-w", wave, said),
		exec.CommandContext(ctx, "ffmpeg", "-v", "error", "-y", "-i", wave, "-c:a", "aac", "-b:a", "32k", "-fflags", "+bitexact",
			"-map_metadata", "-1", "-f", "ipod", filepath.Join(folder, "spoken", "3 raices.m4a")),
	} {
		if out, err := c.CombinedOutput(); err != nil {
			return fmt.Errorf("%s: %w: %s", c.Path, err, out)
		}
	}
	return nil
}

// writePhoto writes the photo of the access point as a phone held upright stores it:
// lying on its side, with a note that says so, when it was taken, and where.
func writePhoto(w io.Writer) error {
	lying := imaging.Rotate90(footage.Yard(1, 900, 1200)) // anticlockwise
	var b bytes.Buffer
	if err := jpeg.Encode(&b, lying, &jpeg.Options{Quality: 80}); err != nil {
		return err
	}
	notes := append([]byte("Exif\x00\x00"), cameraNotes(begun.Add(-70*time.Second))...)
	head := append([]byte{0xff, 0xd8, 0xff, 0xe1}, binary.BigEndian.AppendUint16(nil, uint16(len(notes)+2))...)
	_, err := w.Write(append(append(head, notes...), b.Bytes()[2:]...))
	return err
}

// cameraNotes is a TIFF structure as cameras write it (Exif 2.3): to be turned a
// quarter clockwise, taken at, and a place in the open sea, where nobody lives.
func cameraNotes(at time.Time) []byte {
	le := binary.LittleEndian
	type tag struct {
		id, kind uint16
		count    uint32
		value    []byte // four bytes, or more, which go behind
	}
	long := func(v uint32) []byte { return le.AppendUint32(nil, v) }
	half := append(append(append(long(0), long(1)...), append(long(30), long(1)...)...), append(long(0), long(1)...)...) // 0° 30' 0"
	taken := append([]byte(at.Format("2006:01:02 15:04:05")), 0)
	directories := [][]tag{
		{{0x0112, 3, 1, []byte{6, 0, 0, 0}}, {0x8769, 4, 1, nil}, {0x8825, 4, 1, nil}},
		{{0x9003, 2, uint32(len(taken)), taken}},
		{{1, 2, 2, []byte{'N', 0, 0, 0}}, {2, 5, 3, half}, {3, 2, 2, []byte{'W', 0, 0, 0}}, {4, 5, 3, half}},
	}
	starts := make([]uint32, len(directories))
	behind := uint32(8)
	for i, d := range directories {
		starts[i] = behind
		behind += 2 + 12*uint32(len(d)) + 4
	}
	directories[0][1].value, directories[0][2].value = long(starts[1]), long(starts[2])
	out := append([]byte("II*\x00"), long(starts[0])...)
	var tail []byte
	for _, d := range directories {
		out = le.AppendUint16(out, uint16(len(d)))
		for _, t := range d {
			out = le.AppendUint32(le.AppendUint16(le.AppendUint16(out, t.id), t.kind), t.count)
			if len(t.value) == 4 {
				out = append(out, t.value...)
				continue
			}
			out = append(out, long(behind+uint32(len(tail)))...)
			tail = append(tail, t.value...)
		}
		out = append(out, 0, 0, 0, 0)
	}
	return append(out, tail...)
}
