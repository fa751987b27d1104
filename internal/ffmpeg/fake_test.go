package ffmpeg

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"
)

// The test binary stands in for ffmpeg and ffprobe: under their names it behaves as
// PUSHCUE_FAKE says.
func TestMain(m *testing.M) {
	switch name := strings.TrimSuffix(filepath.Base(os.Args[0]), ".exe"); name {
	case "ffmpeg", "ffprobe":
		os.Exit(pretend(name))
	case "parent":
		os.Exit(beParent())
	case "finder":
		os.Exit(beFinder())
	}
	silence = time.Hour
	os.Exit(m.Run())
}

const goodVersion = "ffmpeg version 6.1.1 Copyright\nlibavutil      58. 29.100 / 58. 29.100\n"

func pretend(name string) int {
	fake := os.Getenv("PUSHCUE_FAKE")
	if path := os.Getenv("PUSHCUE_FAKE_STARTS"); path != "" { // one byte a start
		f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_APPEND, 0o600)
		if err != nil {
			panic(err)
		}
		f.WriteString(".")
		f.Close()
	}
	asked := os.Args[len(os.Args)-1]
	switch {
	case asked == "-version":
		version := goodVersion
		if v := os.Getenv("PUSHCUE_FAKE_VERSION"); v != "" {
			version = v
		}
		fmt.Print(strings.Replace(version, "ffmpeg", name, 1))
		return 0
	case asked == "-filters":
		for _, f := range filters {
			if fake != "no "+f {
				fmt.Printf(" ... %s  V->V  what it does\n", f)
			}
		}
		if fake == "tone mapping" {
			fmt.Println(" ... zscale  V->V  x\n ... tonemap  V->V  x")
		}
		return 0
	case asked == "-encoders":
		if fake != "no encoder" {
			fmt.Println(" V....D libx264   H.264\n V....D h264_nvenc   H.264")
		}
		return 0
	}
	switch fake {
	case "hang":
		fmt.Println("ready")
		time.Sleep(time.Hour)
	case "deaf":
		ignoreInterrupt()
		fmt.Println("ready")
		time.Sleep(time.Hour)
	case "half":
		fmt.Print("half of a picture")
		fmt.Fprintln(os.Stderr, "[h264 @ 0x1] something broke\nConversion failed!")
		return 1
	case "fails":
		return 1
	case "damaged":
		fmt.Fprintln(os.Stderr, "rec.mp4: Invalid data found when processing input")
		return 1
	case "garbage":
		fmt.Print("\x00\xff no answer of any kind\n")
	case "unknown":
		fmt.Fprintln(os.Stderr, "Unknown encoder 'libx264'")
		return 1
	case "no library":
		fmt.Fprintln(os.Stderr, "ffmpeg: error while loading shared libraries: libavcodec.so.59: cannot open shared object file")
		return 127
	case "full":
		fmt.Fprintln(os.Stderr, "av_interleaved_write_frame(): No space left on device")
		return 1
	case "reports":
		for i := 1; i <= 3; i++ {
			fmt.Fprintf(os.Stderr, "frame=%d\nfps=10\nstream_0_0_q=-0.0\nbitrate=N/A\ntotal_size=N/A\nout_time_us=%d\nspeed=2.5x\nprogress=%s\n", i*10, i*400000, []string{"continue", "end"}[i/3])
		}
		fmt.Fprint(os.Stderr, strings.Repeat("[mov @ 0x1] a complaint that comes again and again\n", 1000), "the last word")
	case "where":
		dir, _ := os.Getwd()
		fmt.Println(dir)
		filepath.WalkDir(".", func(path string, d os.DirEntry, err error) error {
			if b, err := os.ReadFile(path); err == nil {
				fmt.Printf("%s=%s\n", filepath.ToSlash(path), b)
			}
			return nil
		})
	}
	return 0
}

// fakeTools puts the stand-ins into a folder.
func fakeTools(t testing.TB, fake string) (*Tools, string) {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	for _, name := range []string{"ffmpeg", "ffprobe"} {
		if err := link(self, filepath.Join(dir, program(name))); err != nil {
			t.Fatal(err)
		}
	}
	t.Setenv("PUSHCUE_FAKE", fake)
	return &Tools{FFmpeg: filepath.Join(dir, program("ffmpeg")), FFprobe: filepath.Join(dir, program("ffprobe"))}, dir
}

// realTools are this computer's.
func realTools(t testing.TB) *Tools {
	t.Helper()
	if os.Getenv("PUSHCUE_TEST_SHORT") != "" {
		t.Skip("PUSHCUE_TEST_SHORT is set")
	}
	tools, err := Find(t.Context(), Where{Cache: UserCache()})
	if err != nil {
		t.Fatalf("these tests need ffmpeg 5.1 or newer: %v", err)
	}
	return tools
}

// setPatience changes how long a child may take to stop.
func setPatience(t testing.TB, d time.Duration) {
	was := patience
	t.Cleanup(func() { patience = was })
	patience = d
}

func unixOnly(t testing.TB) {
	t.Helper()
	if runtime.GOOS == "windows" {
		t.Skip("needs signals")
	}
}
