package testfootage

import (
	"bytes"
	"encoding/binary"
	"math/rand/v2"
	"slices"
)

// AMRFrame is how long a frame of AMR lasts, in seconds.
const AMRFrame = 0.02

// AMR3GP is a 3GP file of so many frames of AMR, perPacket of them in each packet, as some
// phones write it (ISO/IEC 14496-12; 3GPP TS 26.244, AMRSampleEntry). What is heard is noise.
// video is an MP4 as Numbered makes it, which gets that sound; nil for sound alone.
func AMR3GP(video []byte, frames, perPacket int) []byte {
	const bytesAFrame = 32 // a header and 31 bytes at 12.2 kbit/s: RFC 4867, 4.3.1 and 5.3
	noise := rand.New(rand.NewPCG(1, 1))
	var data []byte
	for range frames {
		data = append(data, 0x3c) // frame type 7, good quality
		for range bytesAFrame - 1 {
			data = append(data, byte(noise.Uint32()))
		}
	}
	head, movie, track := box("ftyp", []byte("3gp4"), u32(0x200), []byte("3gp4")), []byte(nil), 1
	if video != nil { // its index stands last, and its tracks keep their places
		at := bytes.LastIndex(video, []byte("moov")) - 4
		head, movie, track = video[:at:at], video[at+8:], 9
	} else {
		movie = box("mvhd", u32(0, 0, 0, 1000, frames*20, 0x10000), []byte{1, 0}, make([]byte, 10), matrix, make([]byte, 24), u32(2))
	}
	sound := amrTrack(track, len(head)+8, frames, perPacket, perPacket*bytesAFrame)
	return slices.Concat(head, box("mdat", data), box("moov", movie, sound))
}

// amrTrack describes packets that stand one behind the other from a place in the file.
func amrTrack(number, at, frames, perPacket, size int) []byte {
	const rate, samples = 8000, 160
	packets := frames / perPacket
	entry := box("samr", make([]byte, 6), []byte{0, 1}, make([]byte, 8), []byte{0, 2, 0, 16}, u32(0, rate<<16),
		box("damr", []byte("test"), []byte{0, 0x81, 0xff, 0, byte(perPacket)}))
	table := box("stbl",
		box("stsd", u32(0, 1), entry),
		box("stts", u32(0, 1, packets, perPacket*samples)),
		box("stsc", u32(0, 1, 1, packets, 1)),
		box("stsz", u32(0, size, packets)),
		box("stco", u32(0, 1, at)))
	media := box("mdia",
		box("mdhd", u32(0, 0, 0, rate, frames*samples, 0x55c40000)),
		box("hdlr", u32(0, 0), []byte("soun"), make([]byte, 13)),
		box("minf", box("smhd", u32(0, 0)), box("dinf", box("dref", u32(0, 1), box("url ", u32(1)))), table))
	return box("trak", box("tkhd", u32(1, 0, 0, number, 0, frames*20, 0, 0, 0), []byte{1, 0, 0, 0}, matrix, u32(0, 0)), media)
}

var matrix = u32(0x10000, 0, 0, 0, 0x10000, 0, 0, 0, 0x40000000) // shows a picture as it is

func u32(values ...int) (b []byte) {
	for _, v := range values {
		b = binary.BigEndian.AppendUint32(b, uint32(v))
	}
	return b
}

func box(kind string, parts ...[]byte) []byte {
	body := bytes.Join(parts, nil)
	return append(append(u32(8+len(body)), kind...), body...)
}
