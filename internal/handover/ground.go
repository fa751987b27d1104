package handover

import (
	"path/filepath"

	"pushcue/internal/job"
	"pushcue/internal/safefile"
	"pushcue/internal/shelf"
	"pushcue/internal/trouble"
)

// A ground is what a run of Make writes to: the opened handover and work folder, and a
// folder for unfinished files. They stay the ones that were opened and checked,
// whatever becomes of their paths meanwhile.
type ground struct {
	out, work *safefile.Folder
	tmp       *safefile.Temp
	more      []*safefile.Folder // those of a visit's jobs
	lock      *shelf.Held
	editions  *editions
}

// openGround opens or creates our folders, and holds them against a second run.
func openGround(v *job.Visit) (g *ground, err error) {
	g = &ground{}
	defer func() {
		if err != nil {
			g.close()
		}
	}()
	protected := v.Protected()
	if g.work, err = safefile.MakeWithin(v.Work, v.Work, protected); err != nil {
		return g, trouble.Writing(v.Work, err)
	}
	if g.lock, err = shelf.Lock(g.work); err != nil {
		return g, err
	}
	if err = shelf.WithoutLinks(g.work); err != nil {
		return g, err
	}
	if g.out, err = safefile.MakeWithin(v.Out, v.Out, protected); err != nil {
		return g, trouble.Writing(v.Out, err)
	}
	if err = shelf.WithoutLinks(g.out); err != nil {
		return g, err
	}
	g.tmp, err = shelf.FreshTemp(g.work)
	return g, err
}

func (g *ground) close() {
	if g.tmp != nil {
		_ = g.tmp.Discard()
	}
	if g.lock != nil {
		g.lock.Release()
	}
	for _, f := range append(g.more, g.out, g.work) {
		if f != nil {
			f.Close()
		}
	}
}

// of opens the folders of one job: ours themselves, or folders in them where a visit
// has several. They stay open as long as the ground does.
func (g *ground) of(v *job.Visit, outDir, workDir string) (out, work *safefile.Folder, err error) {
	if outDir == v.Out {
		return g.out, g.work, nil
	}
	if out, err = g.out.MakeFolder(filepath.Base(outDir)); err != nil {
		return nil, nil, trouble.Writing(outDir, err)
	}
	g.more = append(g.more, out)
	if work, err = g.work.MakeFolder(filepath.Base(workDir)); err != nil {
		return nil, nil, trouble.Writing(workDir, err)
	}
	g.more = append(g.more, work)
	return out, work, nil
}
