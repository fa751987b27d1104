package testfootage

// bits writes what a video header is made of, most significant bit first.
type bits struct {
	bytes []byte
	free  int // unused bits of the last byte
}

func (b *bits) u(count, value int) {
	for i := count - 1; i >= 0; i-- {
		if b.free == 0 {
			b.bytes, b.free = append(b.bytes, 0), 8
		}
		b.free--
		b.bytes[len(b.bytes)-1] |= byte(value>>i&1) << b.free
	}
}

// ue writes an unsigned number in Exp-Golomb code (ITU-T H.264, clause 9.1).
func (b *bits) ue(value int) {
	long := 0
	for (value+1)>>(long+1) > 0 {
		long++
	}
	b.u(long, 0)
	b.u(long+1, value+1)
}

func (b *bits) align() { b.free = 0 }

// unit closes the bits and wraps them for a byte stream: a start code, and a 3
// wherever the payload would look like one (ITU-T H.264, clause 7.4.1.1).
func (b *bits) unit(header byte) []byte {
	b.u(1, 1)
	out := []byte{0, 0, 0, 1, header}
	zeros := 0
	for _, v := range b.bytes {
		if zeros == 2 && v <= 3 {
			out, zeros = append(out, 3), 0
		}
		out = append(out, v)
		if v == 0 {
			zeros++
		} else {
			zeros = 0
		}
	}
	return out
}
