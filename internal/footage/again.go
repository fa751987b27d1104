package footage

// Again prepares the same shoot as taken by another recorder: it shares the pipe
// and the camera's pictures, and has a tape and writing of its own. Next isn't
// for it; Take is. The picture's size, rate and fields stay p's.
func (p *Shoot) Again(rec Recorder) (*Shoot, error) {
	rec.Width, rec.Height, rec.Rate, rec.Interlaced, rec.PixelAspect = p.rec.Width, p.rec.Height, p.rec.Rate, p.rec.Interlaced, p.rec.PixelAspect
	rec.From, rec.To = p.rec.From, p.rec.To
	if err := check(p.scene, &rec); err != nil {
		return nil, err
	}
	q := *p
	q.rec, q.index, q.marks = rec, 0, nil
	q.frame = make([]byte, len(p.frame))
	q.grain = newGrain(rec, seeded(p.scene, 0x7A9E))
	if err := q.prepareMarks(); err != nil {
		return nil, err
	}
	q.truth = newTruth(p.scene, rec)
	return &q, nil
}

// Take writes over the picture that p painted last. p must leave its pictures
// bare: no writing, no tape.
func (q *Shoot) Take(p *Shoot) {
	at := q.rec.From + float64(q.index)/q.rec.Rate
	q.now, q.gain = p.now, p.gain
	copy(q.frame, p.frame)
	q.stampMarks(at)
	q.tape()
	q.number()
	q.truth.note(q, at)
	q.index++
}
