package main

import (
	"bytes"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"

	"pushcue/internal/soak"
	"pushcue/internal/testdrive"
)

// theirs puts things on a drive that belong to somebody, and fails at the end
// unless they are what they were.
func theirs(t *testing.T, dir string, names ...string) {
	t.Helper()
	before := map[string]fs.FileInfo{}
	for _, name := range append(names, "holiday.jpg", "invoices/march.txt", "COPY-NOT-FINISHED.txt", "index.html.partial") {
		file := filepath.Join(dir, name)
		writeTo(t, file, "theirs: "+name)
		info, err := os.Stat(file)
		if err != nil {
			t.Fatal(err)
		}
		before[name] = info
	}
	t.Cleanup(func() {
		for name, info := range before {
			now, err := os.Stat(filepath.Join(dir, name))
			if err != nil {
				t.Errorf("their %s: %v", name, err)
			} else if !now.ModTime().Equal(info.ModTime()) || read(t, filepath.Join(dir, name)) != "theirs: "+name {
				t.Errorf("their %s was touched", name)
			}
		}
	})
}

// driveDesk is a desk whose runs are processes: a drive is served by this one, which
// couldn't both wait for it and answer.
func driveDesk(t *testing.T) desk {
	t.Helper()
	d := newDesk(t)
	d.apart = true
	return d
}

func TestCopyOntoADrive(t *testing.T) {
	t.Parallel()
	d := driveDesk(t)
	cargo := contents(t, d.handover())
	total := size(cargo)
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	random := rand.New(rand.NewPCG(seed, 1))

	t.Run("one that takes it", func(t *testing.T) {
		d := d.on(t)
		stick := testdrive.Mount(t, testdrive.Rules{Names: true})
		theirs(t, stick.Behind)
		said(t, d.run(0, "copy", d.job, stick.Dir), "Everything was read back from the drive and is the same as the handover.",
			"type: umount "+stick.Dir, "When the system says that it may be taken out, take it out. Not before.")
		d.whole(filepath.Join(stick.Behind, copyName))
		// again, with theirs among ours: a name like that of a file not finished, and a link that leads out
		theirs(t, filepath.Join(stick.Behind, copyName, "theirs"))
		out := d.run(0, "copy", d.job, stick.Dir)
		said(t, out, ": 0 files copied", "theirs/index.html.partial isn't ours")
		said(t, d.run(6, "verify", stick.Dir), `added: "theirs/holiday.jpg" wasn't there before`)
	})

	t.Run("too small for it, which is known before", func(t *testing.T) {
		stick := testdrive.Mount(t, testdrive.Rules{Room: total / 2})
		theirs(t, stick.Behind)
		said(t, d.on(t).run(4, "copy", d.job, stick.Dir), "there is room for", "make room on it or take a larger one")
		if _, err := os.Stat(filepath.Join(stick.Behind, copyName)); err == nil {
			t.Error("a folder was left")
		}
	})

	t.Run("that fills up half-way", func(t *testing.T) {
		d := d.on(t)
		stick := testdrive.Mount(t, testdrive.Rules{Room: total + 8<<20})
		theirs(t, stick.Behind)
		stick.Set(testdrive.Rules{Room: total + 8<<20, OnWrite: func(all int64) { // somebody else fills it
			if all > total/2 {
				stick.Limit(total / 2)
			}
		}})
		said(t, d.run(4, "copy", d.job, stick.Dir), "the drive is full", "stand proven on it", "what was proven isn't copied again")
		d.goesOn(stick)
	})

	failures := []syscall.Errno{syscall.EIO, syscall.ENODEV, syscall.ENXIO}
	failures = slices.Repeat(failures, soak.Count(1, 30))
	for i, failure := range failures {
		t.Run(fmt.Sprintf("that breaks half-way (%d, %v)", i, failure), func(t *testing.T) {
			d := d.on(t)
			stick := testdrive.Mount(t, testdrive.Rules{Breaks: 1 + random.Int64N(total), With: failure})
			theirs(t, stick.Behind)
			said(t, d.run(4, "copy", d.job, stick.Dir), "the drive stopped answering", "stand proven on it", "plug it in again")
			said(t, d.run(6, "verify", stick.Dir), "the copy was never finished")
			d.goesOn(stick)
		})
	}

	t.Run("that flips a bit", func(t *testing.T) {
		d := d.on(t)
		stick := testdrive.Mount(t, testdrive.Rules{Flips: "report.pdf"})
		theirs(t, stick.Behind)
		said(t, d.run(6, "copy", d.job, stick.Dir), `"report.pdf" reads back from the drive differently`, "don't trust this drive")
		d.nothingWrong(filepath.Join(stick.Behind, copyName))
		stick.Set(testdrive.Rules{})
		d.goesOn(stick)
		stick.Set(testdrive.Rules{Flips: "report.pdf"})
		said(t, d.run(6, "verify", stick.Dir), `changed: "report.pdf"`)
	})

	t.Run("that can't be written to", func(t *testing.T) {
		stick := testdrive.Mount(t, testdrive.Rules{ReadOnly: true})
		said(t, d.on(t).run(4, "copy", d.job, stick.Dir), "the drive can't be written to", "write-protect switch")
	})

	t.Run("while the program is killed", func(t *testing.T) {
		d := d.on(t)
		stick := testdrive.Mount(t, testdrive.Rules{})
		theirs(t, stick.Behind)
		for range soak.Count(2, 300) {
			cmd := d.program("copy", d.job, stick.Dir)
			killedWriting(t, cmd, stick, 1+random.Int64N(total/2))
			d.nothingWrong(filepath.Join(stick.Behind, copyName))
		}
		d.goesOn(stick)
	})

	t.Run("and another that breaks", func(t *testing.T) {
		d := d.on(t)
		good, bad := testdrive.Mount(t, testdrive.Rules{}), testdrive.Mount(t, testdrive.Rules{Breaks: total / 2, With: syscall.EIO})
		out := d.run(4, "copy", d.job, good.Dir, bad.Dir)
		said(t, out, good.Dir+"/"+copyName+": "+fmt.Sprint(len(cargo)-1)+" files copied", bad.Dir+": the drive stopped answering")
		d.whole(filepath.Join(good.Behind, copyName))
		d.goesOn(bad)
	})

	t.Run("while others want the same", func(t *testing.T) {
		d := d.on(t)
		stick := testdrive.Mount(t, testdrive.Rules{})
		var once sync.Once
		var makes, copies []byte
		stick.Set(testdrive.Rules{OnWrite: func(all int64) {
			if all > 4096 {
				once.Do(func() {
					makes, _ = d.program("make", d.job).CombinedOutput()
					copies, _ = d.program("copy", d.job, stick.Dir).CombinedOutput()
				})
			}
		}})
		d.run(0, "copy", d.job, stick.Dir)
		said(t, string(makes), "another pushcue is at work on "+d.job)
		said(t, string(copies), "another copy into this folder is under way")
		d.whole(filepath.Join(stick.Behind, copyName))
	})

	t.Run("with something in the way", func(t *testing.T) {
		d := d.on(t)
		stick := testdrive.Mount(t, testdrive.Rules{})
		d.run(0, "copy", d.job, stick.Dir)
		copied, outside := filepath.Join(stick.Behind, copyName), t.TempDir()
		must(t, os.RemoveAll(filepath.Join(copied, "stills")))
		must(t, os.Symlink(outside, filepath.Join(copied, "stills")))
		said(t, d.run(4, "copy", d.job, stick.Dir), "stills\" in the folder on it isn't ours and is in the way")
		if left := listing(t, outside); len(left) > 0 {
			t.Errorf("written through a link: %v", left)
		}
		must(t, os.Remove(filepath.Join(copied, "stills")))
		must(t, os.Remove(filepath.Join(copied, "index.html")))
		must(t, os.Mkdir(filepath.Join(copied, "index.html"), 0o755))
		said(t, d.run(4, "copy", d.job, stick.Dir), "index.html\" in the folder on it isn't ours and is in the way")
		must(t, os.Remove(filepath.Join(copied, "index.html")))
		d.goesOn(stick)
	})

	t.Run("where a folder of theirs has our name", func(t *testing.T) {
		stick := testdrive.Mount(t, testdrive.Rules{})
		theirs(t, filepath.Join(stick.Behind, copyName), "SHA256SUMS", "index.html")
		said(t, d.on(t).run(4, "copy", d.job, stick.Dir), "isn't a copy of a handover", "choose another name with --as")
		said(t, d.on(t).run(4, "verify", stick.Dir), "holds neither a handover nor an archive")
	})
}

// A drive formatted as FAT32: the system's own where it knows the format and lets us
// mount, else a stand-in that takes no more.
func fat32(t *testing.T) (dir string, longest int64) {
	t.Helper()
	if at := mountImage(t, "vfat", "64M", "mkfs.vfat", "-F", "32"); at != "" {
		return at, 1<<32 - 1
	}
	const longest1M = 1 << 20
	return testdrive.Mount(t, testdrive.Rules{Names: true, Longest: longest1M}).Dir, longest1M
}

// mountImage makes a file system in a file and mounts it; "" where that can't be.
func mountImage(t *testing.T, kind, length string, mkfs ...string) string {
	t.Helper()
	image, at := filepath.Join(t.TempDir(), "image"), t.TempDir()
	return mountAt(t, kind, image, length, at, mkfs...)
}

func mountAt(t *testing.T, kind, image, length, at string, mkfs ...string) string {
	t.Helper()
	for _, args := range [][]string{
		{"truncate", "-s", length, image}, append(mkfs, image), {"mount", "-t", kind, "-o", "loop", image, at},
	} {
		if out, err := exec.Command(args[0], args[1:]...).CombinedOutput(); err != nil {
			t.Logf("%q: %v %s", args, err, out)
			return ""
		}
	}
	t.Cleanup(func() { unmount(t, at) })
	return at
}

func unmount(t *testing.T, at string) {
	if out, err := exec.Command("umount", at).CombinedOutput(); err != nil {
		t.Errorf("umount: %v %s", err, out)
	}
}

func TestCopyLeavesOutWhatFAT32CannotHold(t *testing.T) {
	d := driveDesk(t)
	stick, longest := fat32(t)
	long := filepath.Join(d.handover(), "as-filmed", "long.mp4")
	writeTo(t, long, "")
	must(t, os.Truncate(long, longest+1)) // holds nothing, and takes no room where the job lies
	list := filepath.Join(d.handover(), "SHA256SUMS")
	writeTo(t, list, read(t, list)+strings.Repeat("0", 64)+"  as-filmed/long.mp4\n")
	out := d.run(3, "copy", d.job, stick)
	said(t, out, "open: as-filmed/long.mp4 is too large for this drive", "and was left out", "format a drive as exFAT",
		"Everything else was read back from the drive and is the same as the handover.")
	copied := filepath.Join(stick, copyName)
	checkSums(t, copied)
	if _, err := os.Stat(filepath.Join(copied, "as-filmed", "long.mp4")); err == nil {
		t.Error("a part of the long file was left")
	}
	if got := listing(t, copied); len(got) != len(listing(t, d.handover()))-1 {
		t.Errorf("on the drive: %q", got)
	}
	d.run(0, "verify", stick)
	said(t, d.run(3, "copy", d.job, stick, "--json"), `"too_large": [ "as-filmed/long.mp4" ]`)
}

// A stick that claims to be larger than it is: the system takes what it is given, and
// only flushing it to the device tells.
func TestCopyOntoADriveThatIsSmallerThanItSays(t *testing.T) {
	d := driveDesk(t)
	chips := t.TempDir()
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size=600k", "tmpfs", chips).CombinedOutput(); err != nil {
		t.Skipf("no small disk can be mounted here: %s", out)
	}
	t.Cleanup(func() { unmount(t, chips) })
	stick := mountAt(t, "ext4", filepath.Join(chips, "image"), "32M", t.TempDir(), "mkfs.ext4", "-q", "-F", "-O", "^has_journal", "-E", "lazy_itable_init=1")
	if stick == "" {
		t.Skip("no image can be mounted here")
	}
	out := d.run(4, "copy", d.job, stick)
	said(t, out, "the drive says that it has room, and takes no more", "the copy isn't finished", "take another one")
	if strings.Contains(out, "is the same as the handover") {
		t.Errorf("it was believed:\n%s", out)
	}
	d.nothingWrong(filepath.Join(stick, copyName))
}

// goesOn lets the drive work again: the next try copies only what wasn't proven.
func (d desk) goesOn(stick *testdrive.Drive) {
	d.Helper()
	copied := filepath.Join(stick.Behind, copyName)
	d.nothingWrong(copied)
	proven := int64(0)
	for name, text := range contents(d.T, d.handover()) {
		if got, err := os.ReadFile(filepath.Join(copied, name)); err == nil && bytes.Equal(got, []byte(text)) {
			proven += int64(len(text))
		}
	}
	var mu sync.Mutex
	var most int64
	stick.Set(testdrive.Rules{OnWrite: func(all int64) {
		mu.Lock()
		defer mu.Unlock()
		most = max(most, all)
	}})
	d.run(0, "copy", d.job, stick.Dir)
	mu.Lock()
	defer mu.Unlock()
	const notes = 64 << 10 // the list of sums and the note
	if want := size(contents(d.T, d.handover())) - proven; most > want+notes {
		d.Errorf("%d bytes were written again, of which %d stood there proven", most, proven)
	}
	d.whole(copied)
	d.run(0, "verify", stick.Dir)
}

// killedWriting runs cmd and kills it once the drive was given so many bytes.
func killedWriting(t *testing.T, cmd *exec.Cmd, stick *testdrive.Drive, taken int64) {
	t.Helper()
	started := make(chan struct{})
	var once sync.Once
	stick.Set(testdrive.Rules{OnWrite: func(all int64) {
		if all >= taken {
			once.Do(func() {
				<-started
				_ = cmd.Process.Kill()
			})
		}
	}})
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	close(started)
	_ = cmd.Wait()
}
