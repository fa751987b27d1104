package footage

import (
	"math"
	"math/rand/v2"
)

// A Shoot paints the frames of one recording, one after the other.
type Shoot struct {
	scene Scene
	rec   Recorder

	wall    *wall
	lens    *lens
	layers  []layer
	levels  []float32
	ripples *field
	cosines [turn]float32 // of a column's angle from the crown
	sines   [turn]float32
	swayX   *wander
	swayY   *wander
	rollBy  *wander
	jolt    *wander
	grain   *grain
	marks   []stamp

	index  int
	now    state
	gain   float64
	frame  []byte
	dark   [256]uint16    // light left at a depth, per centimetre
	values []uint16       // light of each pixel before the camera's tone
	tones  [tonesAll]byte // from light to luma
	truth  Truth
}

// NewShoot prepares to paint the scene with the recorder.
func NewShoot(scene Scene, rec Recorder) (*Shoot, error) {
	if err := check(scene, &rec); err != nil {
		return nil, err
	}
	r := seeded(scene, 0x5EED)
	p := &Shoot{scene: scene, rec: rec, gain: 1}
	p.wall = newWall(scene, r)
	p.layers = newLayers(scene, r)
	p.lens = newLens(rec, scene.Pipe.Bore)
	p.levels = levelsOf(scene, p.wall.rows)
	p.ripples = newField(r, 32, 4)
	p.swayX, p.swayY, p.rollBy, p.jolt = newWander(r), newWander(r), newWander(r), newWander(r)
	p.grain = newGrain(rec, r)
	for x := range turn {
		sin, cos := math.Sincos(2 * math.Pi * float64(x) / turn)
		p.sines[x], p.cosines[x] = float32(sin), float32(cos)
	}
	p.frame = make([]byte, rec.Width*rec.Height*3/2)
	p.values = make([]uint16, rec.Width*rec.Height)
	if err := p.prepareMarks(); err != nil {
		return nil, err
	}
	p.truth = newTruth(scene, rec)
	return p, nil
}

func seeded(s Scene, stream uint64) *rand.Rand { return rand.New(rand.NewPCG(s.Seed, stream)) }

// Frame returns the frame painted last: a plane of luma, then the two of colour
// at half the size, valid until the next call of Next.
func (p *Shoot) Frame() []byte { return p.frame }

// Next paints the next frame; false after the last one.
func (p *Shoot) Next() bool {
	if p.index >= p.rec.frames() {
		return false
	}
	at := p.rec.From + float64(p.index)/p.rec.Rate
	if p.rec.Interlaced {
		p.field(at, 0, 2)
		p.field(at+0.5/p.rec.Rate, 1, 2)
	} else {
		p.field(at, 0, 1)
	}
	p.expose()
	p.stampMarks(at)
	p.tape()
	p.number()
	p.truth.note(p, at)
	p.index++
	return true
}

// field paints every step-th line from first on, as seen at one moment.
func (p *Shoot) field(at float64, first, step int) {
	p.now = p.scene.state(at)
	p.setTones()
	if at < p.scene.Van {
		p.van(at, first, step)
	} else {
		p.darkness()
		p.pipe(first, step)
		for i := range p.layers {
			p.layer(&p.layers[i], first, step)
		}
	}
	p.develop(first, step)
}

// aim is how far the camera looks aside, in pixels, and how far it has rolled,
// in columns. It goes by the place and by the jolts of the push, so that a
// standing camera stands.
func (p *Shoot) aim() (dx, dy, roll int) {
	d := p.now.distance
	size := float64(p.lens.margin)
	push := math.Min(1, math.Abs(p.now.speed)/0.35)
	dx = int(math.Round(size * (0.55*p.swayX.at(d*1.3) + 0.25*push*p.jolt.at(p.now.at*7))))
	dy = int(math.Round(size * (0.40*p.swayY.at(d*1.1+50) + 0.25*push*p.jolt.at(p.now.at*8+90))))
	roll = int(turn * (0.045*p.rollBy.at(d*0.6) + 0.006*push*p.jolt.at(p.now.at*5+33)))
	return dx, dy, roll
}

// darkness works out how much light is left at each depth, behind what hangs in
// its way.
func (p *Shoot) darkness() {
	left := 256.0
	next := len(p.layers) - 1 // the nearest comes last
	for cm := range p.dark {
		for next >= 0 && p.layers[next].at < p.now.distance+float64(cm)/100 {
			if p.layers[next].at > p.now.distance {
				left *= 1 - p.layers[next].veil
			}
			next--
		}
		p.dark[cm] = uint16(left)
	}
}

func (p *Shoot) pipe(first, step int) {
	dx, dy, roll := p.aim()
	l, w, rec := p.lens, p.wall, p.rec
	here := uint32(p.now.distance * perM * 16)
	end := uint32(p.scene.Pipe.Length * perM * 16)
	for y := first; y < rec.Height; y += step {
		from := (y+l.margin+dy)*l.width + l.margin + dx
		depths, columns := l.depth[from:from+rec.Width], l.column[from:from+rec.Width]
		shades, kinds := l.shade[from:from+rec.Width], l.level[from:from+rec.Width]
		values := p.values[y*rec.Width : (y+1)*rec.Width]
		chroma := p.chromaRow(y)
		for x := range values {
			depth := depths[x]
			column := (int(columns[x]) + roll*16) & (turn*16 - 1)
			row := here + depth
			if row >= end {
				values[x] = p.mainline(depth, end-here, column>>4)
				if chroma >= 0 && x&1 == 0 {
					p.colour(chroma, x/2, 124, 131)
				}
				continue
			}
			shade := uint32(shades[x]) * uint32(p.dark[min(depth/160, 255)]) >> 8
			if s, wet := p.wet(depth, column>>4); wet {
				values[x] = p.wetLight(s, shade)
				if chroma >= 0 && x&1 == 0 {
					p.colour(chroma, x/2, 119, 134)
				}
				continue
			}
			values[x] = uint16(w.read(int(kinds[x]), row, column) * shade >> 8)
			if chroma >= 0 && x&1 == 0 {
				i := min(int(row/32), w.rows/2-1)*turn/2 + column>>5
				p.colour(chroma, x/2, w.cb[i], w.cr[i])
			}
		}
	}
}

// wet asks for water only where the wall is low enough for it.
func (p *Shoot) wet(depth uint32, column int) (surface, bool) {
	if p.cosines[column] > -0.1 {
		return surface{}, false
	}
	return p.water(float32(depth)/16000, column)
}

// wetLight is murk, the wall's mirror image, and glints of the lamp.
func (p *Shoot) wetLight(s surface, shade uint32) uint16 {
	row := min(max(s.row, 0), p.wall.rows-1)
	mirrored := float32(p.wall.small[2].light[min(row/4, p.wall.small[2].rows-1)*(turn/4)+s.column/4])
	near := float32(fall(0.5 / float64(s.depth*s.depth+0.004) * 0.25))
	v := 22*near + mirrored*s.mirror*float32(shade)/256*0.95 + 280*s.glint*near
	return uint16(min(v, tonesAll-1))
}

// read takes the wall's light at a row and column in sixteenths, from the level
// that suits, smoothly between texels.
func (w *wall) read(kind int, row uint32, column int) uint32 {
	l := &w.small[kind]
	row >>= kind
	column >>= kind
	y, fy := int(row>>4), row&15
	x, fx := column>>4, uint32(column&15)
	if y >= l.rows-1 {
		y = l.rows - 2
	}
	x1 := (x + 1) & (l.turn - 1)
	a := l.light[y*l.turn : (y+1)*l.turn]
	b := l.light[(y+1)*l.turn : (y+2)*l.turn]
	top := uint32(a[x])*(16-fx) + uint32(a[x1])*fx
	low := uint32(b[x])*(16-fx) + uint32(b[x1])*fx
	return (top*(16-fy) + low*fy) >> 8
}

// mainline is the far wall of the pipe that the line opens into, and its water.
func (p *Shoot) mainline(depth, toEnd uint32, column int) uint16 {
	wall := float64(toEnd)/16000 + 0.26
	out := p.lens.bore * wall / (float64(depth) / 16000)
	x, y := out*float64(p.sines[column]), out*float64(p.cosines[column])
	light := 0.8 * fall(2.2/(wall*wall))
	n := float64(p.ripples.at(int(x*2200), int(y*2200)))
	if y < -0.085 {
		run := float64(p.ripples.at(int(x*900+p.now.at*260), int(y*5000)))
		return uint16(min(max(90*light*(0.5+1.8*math.Max(0, run)), 0), tonesAll-1))
	}
	course := math.Abs(math.Mod(y*24+40, 1) - 0.5)
	return uint16(min(255*light*(0.8+0.35*n-0.4*ramp(0.43, 0.5, course)), tonesAll-1))
}
