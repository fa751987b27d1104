package main

import (
	"bufio"
	"bytes"
	"cmp"
	"context"
	"encoding/binary"
	"encoding/json"
	"image"
	"image/draw"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"pushcue/internal/testbrowser"
	"pushcue/internal/testfootage"
)

// A filmed is what a player showed, by the number that each frame carries.
type filmed map[int]*image.Gray

const (
	pictureWidth, pictureHeight = 320, 240

	cueFrames = 25 // the first cue begins with this frame
)

// TestOrdinaryPlayersShowTheNotes plays a captioned video in players as customers have
// them, from a folder that holds nothing but it and its notes.
func TestOrdinaryPlayersShowTheNotes(t *testing.T) {
	t.Parallel()
	made := filepath.Join(t.TempDir(), "job", "handover")
	wholeJob.copyTo(t, filepath.Dir(made))
	video := alone(t, filepath.Join(made, "video"), ".mp4", ".srt", ".vtt")
	bare := decoded(t, video, allFrames)

	t.Run("mpv", func(t *testing.T) {
		shown(t, mpv(t, video, "--term-playing-msg=chapters=${chapters}", "chapters=4"), bare)
		recording := alone(t, filepath.Join(made, "as-filmed"), ".mp4", ".srt")
		if with := mpv(t, recording, "", ""); differ(with[cueFrames].Pix, decoded(t, recording, firstFrames)[cueFrames].Pix) == 0 {
			t.Error("beside the recording as filmed no text is shown")
		}
	})
	t.Run("VLC", func(t *testing.T) {
		shown(t, vlc(t, video), bare)
	})
	t.Run("GStreamer", func(t *testing.T) {
		shown(t, gstreamer(t, video, allFrames), bare)
	})
	t.Run("Chromium", func(t *testing.T) {
		b := testbrowser.Open(t, filepath.Join(made, "index.html"))
		b.Do(`const v = document.querySelector("video"); v.muted = true; await v.play();
			await new Promise(done => v.addEventListener("timeupdate", () => v.currentTime > 0.2 && done()))`)
		if w := testbrowser.Ask[int](b, `document.querySelector("video").videoWidth`); w != pictureWidth {
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
		must(t, json.Unmarshal([]byte(tool(t, "ffprobe", "-v", "error", "-show_chapters", "-of", "json", video)), &found))
		if len(found.Chapters) != 4 || found.Chapters[1].Start != "1.000000" || !strings.Contains(found.Chapters[1].Tags.Title, "roots") {
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

// shown compares what a player showed with the bare pictures: the notes must stand on
// the lower half of the picture, and the strip of captions above must be the same.
func shown(t *testing.T, with, bare filmed) {
	t.Helper()
	compared, texts := 0, 0
	for n, a := range with {
		b := bare[n]
		if b == nil || n < cueFrames {
			continue
		}
		compared++
		strip := a.Rect.Dy() - pictureHeight
		if strip < 20 || a.Rect != b.Rect {
			t.Fatalf("a frame of %v, without notes of %v", a.Rect, b.Rect)
		}
		at := strip * a.Stride
		if differ(a.Pix[:at], b.Pix[:at]) > 0 {
			t.Errorf("frame %d: the text covers the strip", n)
		}
		middle := (strip + pictureHeight/2) * a.Stride
		if differ(a.Pix[middle:], b.Pix[middle:]) > 0 {
			texts++
		}
	}
	if compared == 0 || texts == 0 {
		t.Errorf("%d frames shown, %d compared, of which %d show text", len(with), compared, texts)
	}
}

// differ counts the pixels that differ by more than players' ways of turning luma into
// light can explain.
func differ(a, b []byte) int {
	const most = 40
	n := 0
	for i := range a {
		if d := int(a[i]) - int(b[i]); d > most || d < -most {
			n++
		}
	}
	return n
}

// decoded is every frame of a video, and no notes.
func decoded(t *testing.T, video string, frames int) filmed {
	t.Helper()
	raw := filepath.Join(t.TempDir(), "raw")
	tool(t, "ffmpeg", "-nostdin", "-v", "error", "-i", video, "-map", "0:v:0", "-pix_fmt", "gray", "-f", "rawvideo", raw)
	return rawFrames(t, raw, frames)
}

func mpv(t *testing.T, video, ask, answer string) filmed {
	t.Helper()
	dir := t.TempDir()
	told := tool(t, "mpv", "--no-config", "--ao=null", "--vo=image", "--vo-image-format=png",
		"--vo-image-outdir="+dir, "--start=1", "--frames=2", cmp.Or(ask, "--really-quiet"), video)
	if !strings.Contains(told, answer) {
		t.Errorf("asked for %s, mpv says:\n%s", answer, told)
	}
	all := filmed{}
	for _, name := range listing(t, dir) {
		img, err := png.Decode(strings.NewReader(read(t, filepath.Join(dir, name))))
		must(t, err)
		if n, ok := testfootage.ReadNumber(gray(img)); ok {
			all[n] = gray(img)
		}
	}
	if all[cueFrames] == nil {
		t.Fatalf("mpv showed %d frames:\n%s", len(all), told)
	}
	return all
}

func gstreamer(t *testing.T, video string, frames int) filmed {
	t.Helper()
	raw := filepath.Join(t.TempDir(), "raw")
	// In step with the clock (sync), since the notes are read while the video plays.
	tool(t, "gst-launch-1.0", "-q", "playbin", "uri=file://"+video, "flags=video+text", "audio-sink=fakesink",
		"video-sink=videoconvert ! video/x-raw,format=GRAY8 ! filesink sync=true location="+raw,
		"suburi=file://"+strings.TrimSuffix(video, ".mp4")+".srt")
	return rawFrames(t, raw, frames)
}

// rawFrames reads a file that holds so many grey frames, one behind the other.
func rawFrames(t *testing.T, raw string, frames int) filmed {
	t.Helper()
	pix := []byte(read(t, raw))
	height := len(pix) / frames / pictureWidth
	all := filmed{}
	for ; len(pix) >= pictureWidth*height; pix = pix[pictureWidth*height:] {
		g := &image.Gray{Pix: pix[:pictureWidth*height], Stride: pictureWidth, Rect: image.Rect(0, 0, pictureWidth, height)}
		if n, ok := testfootage.ReadNumber(g); ok {
			all[n] = g
		}
	}
	return all
}

// openToAll lets other users read a folder and pass through those above it. Only folders
// below one of the given ones are changed.
func openToAll(t *testing.T, dir string, below ...string) {
	t.Helper()
	for at := dir; at != filepath.Dir(at); at = filepath.Dir(at) {
		info, err := os.Stat(at)
		must(t, err)
		if info.Mode().Perm()&0o005 == 0o005 {
			continue
		}
		if !slices.ContainsFunc(below, func(top string) bool { return strings.HasPrefix(at, top+"/") }) {
			t.Fatalf("other users can't read %s, and tests leave it as it is", at)
		}
		must(t, os.Chmod(at, 0o755))
	}
}

// vlc plays on a screen that is a file, and looks at it until enough was seen. VLC
// refuses to run as root.
func vlc(t *testing.T, video string) filmed {
	t.Helper()
	ctx, dir, home := t.Context(), t.TempDir(), t.TempDir()
	display := screen(t, ctx, dir)
	cmd := exec.CommandContext(ctx, "vlc", "-I", "dummy", "--no-audio", "--no-video-title-show", "--rate=0.5",
		"--play-and-exit", "--no-embedded-video", "--vout=xcb_x11", "--start-time=0.9", video)
	cmd.Env = append(os.Environ(), "DISPLAY="+display, "HOME="+home, "XDG_RUNTIME_DIR="+home)
	if os.Geteuid() == 0 {
		const nobody = 65534
		must(t, os.Chown(home, nobody, nobody))
		openToAll(t, filepath.Dir(video), os.TempDir(), filepath.Dir(filepath.Dir(dir)))
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
	for cues < 5 {
		select {
		case err := <-done:
			if len(all) == 0 {
				t.Fatalf("vlc showed nothing that could be read, then: %v", err)
			}
			return all
		case <-look.C:
		}
		dump, _ := os.ReadFile(filepath.Join(dir, "Xvfb_screen0"))
		if again, _ := os.ReadFile(filepath.Join(dir, "Xvfb_screen0")); len(dump) < 100 || !bytes.Equal(dump, again) {
			continue // it is only starting, or was being drawn
		}
		a := framebuffer(dump)
		if a == nil {
			continue
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
	cmd := exec.CommandContext(ctx, "Xvfb", "-displayfd", "3", "-screen", "0", "400x360x24", "-fbdir", dir, "-nolisten", "tcp")
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
func framebuffer(dump []byte) *image.Gray {
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
	if foot < pictureHeight || right < pictureWidth {
		return nil
	}
	cut := image.NewGray(image.Rect(0, 0, right, foot))
	draw.Draw(cut, cut.Rect, g, image.Point{}, draw.Src)
	return cut
}
