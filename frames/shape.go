package frames

// shown is the size that the part's picture is shown in: upright, square pixels,
// even. Pixels that aren't square are made so by stretching, never by shrinking, so
// that no detail goes.
func (p *Part) shown() (width, height int) {
	v := p.Media.Video
	w, h := v.Width, v.Height
	if v.SAR.Num > v.SAR.Den {
		w = int(scale(int64(w), int64(v.SAR.Num), int64(v.SAR.Den)))
	} else if v.SAR.Num < v.SAR.Den {
		h = int(scale(int64(h), int64(v.SAR.Den), int64(v.SAR.Num)))
	}
	const most = 16384 // a shape of pixels beyond that is nonsense
	if w > most || h > most {
		w, h = v.Width, v.Height
	}
	if v.Rotation%180 != 0 {
		w, h = h, w
	}
	return w + w%2, h + h%2
}

// square tells whether the part's picture needs no stretching, only at most a
// black line to make its size even.
func (p *Part) square() bool { return p.Media.Video.SAR.Num == p.Media.Video.SAR.Den }

// fit is the largest even size with the shape of w x h that fits into width x height.
func fit(w, h, width, height int) (int, int) {
	if w*height > width*h {
		h, w = h*width/w, width
	} else {
		w, h = w*height/h, height
	}
	return max(2, w&^1), max(2, h&^1)
}
