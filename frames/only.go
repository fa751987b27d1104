package frames

import (
	"image"

	"pushcue/timeline/timecode"
)

// Only is part k by itself: a recording of one part whose time starts at its first
// frame. Width and Height stay those of the whole.
func (r *Recording) Only(k int) *Recording {
	p := r.Parts[k]
	one := &Recording{Width: r.Width, Height: r.Height, End: timecode.Video(p.Length)}
	for _, at := range r.Times[p.First : p.First+p.Count] {
		one.Times = append(one.Times, at-p.Start)
	}
	p.Start, p.First = 0, 0
	one.Parts = []Part{p}
	return one
}

// Stored is where an area of the picture shown lies in the pictures of part k as
// Sampled and Keys give them: the way back from Shown.
func (r *Recording) Stored(k int, area image.Rectangle) image.Rectangle {
	p := &r.Parts[k]
	w, h := p.shown()
	if w != r.Width || h != r.Height {
		w, h = fit(w, h, r.Width, r.Height)
		area = area.Sub(image.Pt((r.Width-w)/4*2, (r.Height-h)/4*2))
	}
	stored := p.StoredSize()
	scaled := image.Rect(area.Min.X*stored.X/w, area.Min.Y*stored.Y/h, (area.Max.X*stored.X+w-1)/w, (area.Max.Y*stored.Y+h-1)/h)
	return scaled.Intersect(image.Rectangle{Max: stored})
}
