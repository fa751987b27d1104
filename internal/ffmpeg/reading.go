package ffmpeg

import (
	"context"
	"io"
	"os"
	"os/exec"
	"sync/atomic"
)

// reading is the way out of a child's standard output. The end of a pipe says
// nothing of success, so the reader sees io.EOF only after the child ended well.
type reading struct {
	read, write *os.File
	alive       *counter
	ended       chan struct{} // closed when the child has ended
	how         error         // how it ended; read after ended
	done        chan error    // what the reader said
	busy        atomic.Bool   // the reader is at work on what it was given
}

// connect gives cmd a pipe when somebody reads it.
func (p process) connect(cmd *exec.Cmd) (*reading, error) {
	r := &reading{ended: make(chan struct{}), done: make(chan error, 1), alive: p.alive}
	if p.stdout == nil {
		return r, nil
	}
	var err error
	if r.read, r.write, err = os.Pipe(); err != nil {
		return nil, err
	}
	cmd.Stdout = r.write
	return r, nil
}

// start lets read have the pipe; failed says that the child never ran.
func (r *reading) start(read func(io.Reader) error, failed error, stop context.CancelCauseFunc) {
	if r.write != nil {
		r.write.Close()
	}
	if read == nil || failed != nil {
		if r.read != nil {
			r.read.Close()
		}
		r.done <- nil
		return
	}
	go func() {
		err := read(r)
		if err != nil {
			stop(err)
			r.read.Close() // so that the child doesn't wait for a reader that has left
		} else {
			r.busy.Store(false)
			io.Copy(io.Discard, r.read)
			r.read.Close()
		}
		r.done <- err
	}()
}

// Read reads from the child.
func (r *reading) Read(b []byte) (int, error) {
	r.busy.Store(false)
	n, err := r.read.Read(b)
	r.busy.Store(true)
	if r.alive != nil {
		r.alive.Add(1)
	}
	if err == io.EOF {
		r.busy.Store(false)
		<-r.ended
		if r.how != nil {
			return n, r.how
		}
	}
	return n, err
}

// end tells the reader how the child ended and waits for what it says.
func (r *reading) end(how error) error {
	r.how = how
	close(r.ended)
	return <-r.done
}
