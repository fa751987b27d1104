package frames

import "pushcue/internal/safefile"

// A spool keeps pictures on disk while it isn't yet known which will be taken, so
// that memory holds two however many stills are wanted and however large.
type spool struct {
	file *safefile.TempFile
	size int
	next int64
	free []int64
}

func newSpool(dir string, size int) (*spool, error) {
	f, err := safefile.NewTempFile(dir, "stills-")
	if err != nil {
		return nil, err
	}
	return &spool{file: f, size: size}, nil
}

func (s *spool) put(pix []byte) (int64, error) {
	at := s.next
	if n := len(s.free); n > 0 {
		at, s.free = s.free[n-1], s.free[:n-1]
	} else {
		s.next += int64(s.size)
	}
	_, err := s.file.WriteAt(pix, at)
	return at, err
}

func (s *spool) get(at int64) ([]byte, error) {
	pix := make([]byte, s.size)
	_, err := s.file.ReadAt(pix, at)
	return pix, err
}

func (s *spool) close() error {
	return s.file.Close()
}

// A picture is one frame that passed, judged. Its pixels are in the current buffer
// until it is kept, then in the spool until nobody holds it any more.
type picture struct {
	index int
	score score

	pix   []byte // while it passes
	spool *spool
	at    int64 // in the spool, when holders > 0
	holds int
	err   error
}

// keep holds on to the picture.
func (p *picture) keep() *picture {
	if p.holds == 0 {
		p.at, p.err = p.spool.put(p.pix)
	}
	p.holds++
	return p
}

// drop lets go of the picture; nil is dropped gladly.
func (p *picture) drop() {
	if p == nil {
		return
	}
	if p.holds--; p.holds == 0 {
		p.spool.free = append(p.spool.free, p.at)
	}
}

// pixels reads a kept picture back.
func (p *picture) pixels() ([]byte, error) {
	if p.err != nil {
		return nil, p.err
	}
	return p.spool.get(p.at)
}
