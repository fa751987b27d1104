package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"image"
	"image/draw"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"pushcue/internal/testbrowser"
	"pushcue/internal/testfootage"
)

// A filmed is what a player showed, by the number that each frame carries.
type filmed map[int]*image.Gray

// strip is the height of the captions above the picture, and foot where the player's
// own text is looked for.
const (
	pictureHeight = 240
	cueFrames     = 25 // the first cue begins with this frame
)

// TestOrdinaryPlayersShowTheNotes plays a captioned video in players as customers have
// them, from a folder that holds nothing but it and its notes.
func TestOrdinaryPlayersShowTheNotes(t *testing.T) {
	d := desk{t, runner(t), filepath.Join(t.TempDir(), "job")}
	copyTo(t, testfootage.Numbered(t, testfootage.Spec{Frames: 150, Audio: true}), filepath.Join(d.job, "part1.mp4"))
	writeTo(t, filepath.Join(d.job, "log.csv"), "video,distance,what\n0:01,1.0 m,roots\n0:05,1.5 m,crack\n")
	writeTo(t, filepath.Join(d.job, "job.toml"), "[line]\nname = \"kitchen lateral\"\n")
	d.run(0, "make", d.job)
	video := alone(t, filepath.Join(d.handover(), "video"), ".mp4", ".srt", ".vtt")

	t.Run("mpv", func(t *testing.T) {
		shown(t, mpv(t, video), mpv(t, video, "--no-sub"))
		recording := alone(t, filepath.Join(d.handover(), "as-filmed"), ".mp4", ".srt")
		with, without := mpv(t, recording), mpv(t, recording, "--no-sub")
		if bytes.Equal(with[cueFrames].Pix, without[cueFrames].Pix) {
			t.Error("beside the recording as filmed no text is shown")
		}
		said(t, output(t, "mpv", "--no-config", "--ao=null", "--vo=null", "--frames=1", "--term-playing-msg=chapters=${chapters}", video), "chapters=3")
	})
	t.Run("VLC", func(t *testing.T) {
		with, without := vlc(t, video), vlc(t, video, "--no-sub-autodetect-file")
		shown(t, with, without)
	})
	t.Run("GStreamer", func(t *testing.T) {
		shown(t, gstreamer(t, video, true), gstreamer(t, video, false))
	})
	t.Run("Chromium", func(t *testing.T) {
		b := testbrowser.Open(t, filepath.Join(d.handover(), "index.html"))
		b.Do(`const v = document.querySelector("video"); v.muted = true; await v.play();
			await new Promise(done => v.addEventListener("timeupdate", () => v.currentTime > 0.2 && done()))`)
		if w := testbrowser.Ask[int](b, `document.querySelector("video").videoWidth`); w != 320 {
			t.Errorf("it plays %d pixels wide", w)
		}
	})
	t.Run("ffprobe", func(t *testing.T) {
		var found struct {
			Chapters []struct {
				Start string `json:"start_time"`
				Tags  struct{ Title string }
			}
		}
		must(t, json.Unmarshal([]byte(output(t, "ffprobe", "-v", "error", "-show_chapters", "-of", "json", video)), &found))
		if len(found.Chapters) != 3 || found.Chapters[1].Start != "1.000000" || !strings.Contains(found.Chapters[1].Tags.Title, "roots") {
			t.Errorf("chapters %+v", found.Chapters)
		}
	})
}

// alone copies the first video of a folder, with what has the same name and one of
// the endings, into a folder of its own.
func alone(t *testing.T, dir string, endings ...string) string {
	t.Helper()
	videos, err := filepath.Glob(filepath.Join(dir, "*"+endings[0]))
	if err != nil || len(videos) == 0 {
		t.Fatalf("no video in %s: %v", dir, err)
	}
	to := t.TempDir()
	base := strings.TrimSuffix(videos[0], endings[0])
	for _, e := range endings {
		copyTo(t, base+e, filepath.Join(to, filepath.Base(base)+e))
	}
	return filepath.Join(to, filepath.Base(base)+endings[0])
}

// shown compares the same frames with and without the notes: the text must stand on
// the lower part of the picture, and the strip of captions above must be the same.
func shown(t *testing.T, with, without filmed) {
	t.Helper()
	compared, texts := 0, 0
	for n, a := range with {
		b := without[n]
		if b == nil || n < cueFrames {
			continue
		}
		compared++
		strip := a.Rect.Dy() - pictureHeight
		if strip < 20 {
			t.Fatalf("no strip in %v", a.Rect)
		}
		at := strip * a.Stride
		if !bytes.Equal(a.Pix[:at], b.Pix[:at]) {
			t.Errorf("frame %d: the text covers the strip", n)
		}
		middle := (strip + pictureHeight/2) * a.Stride
		if !bytes.Equal(a.Pix[middle:], b.Pix[middle:]) {
			texts++
		}
	}
	if compared == 0 || texts == 0 {
		t.Errorf("%d frames with, %d without, %d compared, of which %d show text", len(with), len(without), compared, texts)
	}
}

func output(t *testing.T, program string, args ...string) string {
	t.Helper()
	ctx, stop := context.WithTimeout(context.Background(), 60*time.Second)
	defer stop()
	out, err := exec.CommandContext(ctx, program, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v (scripts/test installs what is missing)\n%s", program, err, out)
	}
	return string(out)
}

func mpv(t *testing.T, video string, more ...string) filmed {
	t.Helper()
	dir := t.TempDir()
	output(t, "mpv", append([]string{"--no-config", "--really-quiet", "--ao=null", "--vo=image", "--vo-image-format=png",
		"--vo-image-outdir=" + dir, "--start=1", "--frames=2", video}, more...)...)
	all := filmed{}
	for _, name := range listing(t, dir) {
		img, err := png.Decode(strings.NewReader(read(t, filepath.Join(dir, name))))
		must(t, err)
		if n, ok := testfootage.ReadNumber(gray(img)); ok {
			all[n] = gray(img)
		}
	}
	return all
}

func gstreamer(t *testing.T, video string, notes bool) filmed {
	t.Helper()
	raw := filepath.Join(t.TempDir(), "raw")
	args := []string{"-q", "playbin", "uri=file://" + video, "flags=video+text", "audio-sink=fakesink",
		"video-sink=videoconvert ! video/x-raw,format=GRAY8 ! filesink location=" + raw}
	if notes {
		args = append(args, "suburi=file://"+strings.TrimSuffix(video, ".mp4")+".srt")
	}
	output(t, "gst-launch-1.0", args...)
	pix := []byte(read(t, raw))
	const width = 320
	height := len(pix) / 150 / width
	all := filmed{}
	for len(pix) >= width*height {
		g := &image.Gray{Pix: pix[:width*height], Stride: width, Rect: image.Rect(0, 0, width, height)}
		if n, ok := testfootage.ReadNumber(g); ok {
			all[n] = g
		}
		pix = pix[width*height:]
	}
	return all
}

// vlc plays on a screen that is a file, and looks at it until enough was seen. VLC
// refuses to run as root.
func vlc(t *testing.T, video string, more ...string) filmed {
	t.Helper()
	ctx, stop := context.WithTimeout(context.Background(), 60*time.Second)
	defer stop()
	dir, home := t.TempDir(), t.TempDir()
	display := screen(t, ctx, dir)
	cmd := exec.CommandContext(ctx, "vlc", append([]string{"-I", "dummy", "--no-audio", "--no-video-title-show", "--rate=0.5",
		"--play-and-exit", "--no-embedded-video", "--vout=xcb_x11", video}, more...)...)
	cmd.Env = append(os.Environ(), "DISPLAY="+display, "HOME="+home, "XDG_RUNTIME_DIR="+home)
	if os.Geteuid() == 0 {
		const nobody = 65534
		must(t, os.Chown(home, nobody, nobody))
		for at := filepath.Dir(video); at != os.TempDir() && at != "/"; at = filepath.Dir(at) {
			must(t, os.Chmod(at, 0o755))
		}
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: nobody, Gid: nobody}}
	}
	if err := cmd.Start(); err != nil {
		t.Fatalf("vlc: %v (scripts/test installs what is missing)", err)
	}
	done := make(chan error, 1)
	go func() { done <- cmd.Wait() }()
	defer func() { _ = cmd.Process.Kill() }()

	all := filmed{}
	cues := 0
	look := time.NewTicker(15 * time.Millisecond)
	defer look.Stop()
	for cues < 20 {
		select {
		case err := <-done:
			if ctx.Err() != nil || len(all) == 0 {
				t.Fatalf("vlc showed %d frames, then: %v", len(all), err)
			}
			return all
		case <-look.C:
		}
		a := framebuffer(t, dir)
		if b := framebuffer(t, dir); a == nil || b == nil || !bytes.Equal(a.Pix, b.Pix) {
			continue // it was being drawn
		}
		if n, ok := testfootage.ReadNumber(a); ok && all[n] == nil {
			all[n] = a
			if n >= cueFrames+10 {
				cues++
			}
		}
	}
	return all
}

// screen starts an X server without a monitor and returns its name.
func screen(t *testing.T, ctx context.Context, dir string) string {
	t.Helper()
	r, w, err := os.Pipe()
	must(t, err)
	cmd := exec.CommandContext(ctx, "Xvfb", "-displayfd", "3", "-screen", "0", "640x480x24", "-fbdir", dir, "-nolisten", "tcp")
	cmd.ExtraFiles = []*os.File{w}
	if err := cmd.Start(); err != nil {
		t.Fatalf("Xvfb: %v (scripts/test installs what is missing)", err)
	}
	w.Close()
	t.Cleanup(func() { _ = cmd.Process.Kill(); _ = cmd.Wait(); r.Close() })
	name, err := bufio.NewReader(r).ReadString('\n')
	must(t, err)
	return ":" + strings.TrimSpace(name)
}

// framebuffer reads what Xvfb shows, in X's own dump format (X11/XWDFile.h: a header
// of big-endian words, a table of colours, the pixels), cut to the video at its
// upper left.
func framebuffer(t *testing.T, dir string) *image.Gray {
	t.Helper()
	dump, err := os.ReadFile(filepath.Join(dir, "Xvfb_screen0"))
	if err != nil || len(dump) < 100 {
		return nil // it is only starting
	}
	word := func(i int) int { return int(binary.BigEndian.Uint32(dump[4*i:])) }
	width, height, line, begin := word(4), word(5), word(12), word(0)+12*word(19)
	right, foot := 0, 0
	g := image.NewGray(image.Rect(0, 0, width, height))
	for y := range height {
		for x := range width {
			v := dump[begin+y*line+4*x+1] // green stands for the light
			g.Pix[y*g.Stride+x] = v
			if v > 0 {
				right, foot = max(right, x+1), max(foot, y+1)
			}
		}
	}
	if foot < pictureHeight || right < 320 {
		return nil
	}
	cut := image.NewGray(image.Rect(0, 0, right, foot))
	draw.Draw(cut, cut.Rect, g, image.Point{}, draw.Src)
	return cut
}
