package footage

import (
	"encoding/binary"
	"io"
	"math"
	"math/rand/v2"
)

// SoundRate is the samples a second of WriteSound.
const SoundRate = 48000

// WriteSound writes what the recorder's microphone heard, as one channel of
// 16-bit little-endian samples: the cable rubbing while the head moves, a drip
// now and then, the van's hum.
func (s Scene) WriteSound(w io.Writer, rec Recorder) error {
	if err := check(s, &rec); err != nil {
		return err
	}
	r := rand.New(rand.NewPCG(s.Seed, 0x50))
	samples := int(math.Round(float64(rec.frames()) / rec.Rate * SoundRate))
	block := make([]byte, 0, 2*SoundRate/50)
	rub, speed, drip, dripAge := 0.0, 0.0, 0.0, 1e9
	for i := range samples {
		at := rec.From + float64(i)/SoundRate
		if i%960 == 0 {
			speed = math.Abs(s.state(at).speed)
			if r.IntN(70) == 0 {
				drip, dripAge = 700+900*r.Float64(), 0
			}
		}
		rub = 0.86*rub + 0.14*r.NormFloat64()
		v := rub * (0.012 + 0.20*math.Min(speed, 1))
		v += 0.004 * math.Sin(2*math.Pi*100*at)
		dripAge += 1.0 / SoundRate
		if dripAge < 0.12 {
			v += 0.05 * math.Exp(-40*dripAge) * math.Sin(2*math.Pi*drip*(1+2*dripAge)*dripAge)
		}
		block = binary.LittleEndian.AppendUint16(block, uint16(int16(32767*min(max(v, -1), 1))))
		if len(block) == cap(block) {
			if _, err := w.Write(block); err != nil {
				return err
			}
			block = block[:0]
		}
	}
	_, err := w.Write(block)
	return err
}
