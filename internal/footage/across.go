package footage

// layer paints one layer over what lies behind it.
func (p *Shoot) layer(l *layer, first, step int) {
	away := l.at - p.now.distance
	if away < 0.014 || away > 1.6 {
		return
	}
	dx, dy, roll := p.aim()
	rec, lens := p.rec, p.lens
	perMetre := lens.focal / away
	radius := lens.bore * perMetre
	middleX := float64(rec.Width)/2 - float64(dx)
	middleY := float64(rec.Height)/2 - float64(dy) - eyeLow*radius // the eye is low, so the middle stands high
	angle := (turn - roll) & (turn - 1)
	sin, cos := float64(p.sines[angle]), float64(p.cosines[angle])
	light := 1.15 * fall(1/(away*away)*0.8)
	light *= float64(p.dark[min(int(away*100), 255)]) / 256
	strength := uint32(256 * ramp(0.014, 0.035, away))
	brightness := uint32(256 * light)
	scale := across / 2 / radius

	// Fixed point: where the layer is read for a pixel, and how that moves with it.
	const one = 1 << 16
	stepX, stepY := int(cos*scale*rec.PixelAspect*one), int(-sin*scale*rec.PixelAspect*one)
	top := max(int(middleY-radius), 0)
	bottom := min(int(middleY+radius)+1, rec.Height)
	left := max(int(middleX-radius/rec.PixelAspect), 0)
	right := min(int(middleX+radius/rec.PixelAspect)+1, rec.Width)
	for y := top; y < bottom; y++ {
		if step == 2 && y&1 != first {
			continue
		}
		ox, oy := (float64(left)+0.5-middleX)*rec.PixelAspect*scale, (float64(y)+0.5-middleY)*scale
		u := int((ox*cos + oy*sin + across/2) * one)
		v := int((-ox*sin + oy*cos + across/2) * one)
		chroma := p.chromaRow(y)
		values := p.values[y*rec.Width : (y+1)*rec.Width]
		for x := left; x < right; x, u, v = x+1, u+stepX, v+stepY {
			tx, ty := u>>16, v>>16
			if uint(tx) >= across || uint(ty) >= across {
				continue
			}
			i := ty*across + tx
			cover := uint32(l.cover[i]) * strength >> 8
			if cover == 0 {
				continue
			}
			lit := uint32(l.light[i]) * brightness >> 8
			values[x] = uint16((uint32(values[x])*(255-cover) + lit*cover) / 255)
			if chroma >= 0 && x&1 == 0 && cover > 100 {
				p.colour(chroma, x/2, l.cb, l.cr)
			}
		}
	}
}
