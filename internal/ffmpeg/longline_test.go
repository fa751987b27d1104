package ffmpeg

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"testing"

	ff "github.com/u2takey/ffmpeg-go"
)

func TestLongOptionsGoIntoFiles(t *testing.T) {
	graph, keys := strings.Repeat("null,", 2000)+"null", strings.Repeat("1.5,", 2000)+"9"
	args := []string{"-i", "file:a", "-filter_complex", graph, "-force_key_frames", keys, "-f", "mp4", "file:" + strings.Repeat("x", 5000)}
	for name, c := range map[string]struct {
		any  bool
		want []string
	}{
		"before 7.0, the graph alone": {false, []string{"-i", "file:a", "-filter_complex_script", "option2.txt", "-force_key_frames", keys, "-f", "mp4", args[8]}},
		"since 7.0, all of them":      {true, []string{"-i", "file:a", "-/filter_complex", "option2.txt", "-/force_key_frames", "option4.txt", "-f", "mp4", args[8]}},
	} {
		kept := map[string][]byte{"captions.ass": []byte("x")}
		r := Run{Contents: kept}
		if got := r.spread(args, c.any); !slices.Equal(got, c.want) {
			t.Errorf("%s: %.300q", name, got)
		}
		if string(r.Contents["option2.txt"]) != graph || string(r.Contents["captions.ass"]) != "x" || c.any != (string(r.Contents["option4.txt"]) == keys) {
			t.Errorf("%s: the files don't hold what was taken away", name)
		}
		if len(kept) != 1 || args[2] != "-filter_complex" {
			t.Errorf("%s: the caller's own were changed", name)
		}
	}
}

// No argument may be longer than 128 KiB on Linux, and all together not longer than
// 32,767 characters on Windows: this graph is longer than both.
func TestAGraphLongerThanAnyCommandLineRuns(t *testing.T) {
	tools := realTools(t)
	wanted := Halves("n", 12_000, strconv.Itoa, func(i int) string { return fmt.Sprintf("eq(%d,3)+eq(%d,17)", i, i) })
	source := ff.Input("color=size=16x16:rate=25:duration=1", ff.KwArgs{"f": "lavfi"})
	graph := source.Get("v").Filter("select", ff.Args{wanted})
	args := graph.Output("pipe:1", ff.KwArgs{"f": "rawvideo", "pix_fmt": "gray", "fps_mode": "passthrough"}).GetArgs()
	var got int64
	_, err := tools.Do(t.Context(), Run{Args: args, Stdout: func(r io.Reader) (err error) {
		got, err = io.Copy(io.Discard, r)
		return err
	}})
	if err != nil || got != 2*16*16 {
		t.Errorf("%d bytes of pictures, want 2 of 256: %v", got, err)
	}
}

func TestWhichReadOptionsFromFiles(t *testing.T) {
	for text, want := range map[string]bool{
		"ffmpeg version 5.1.9-0+deb12u1 Copyright\nlibavutil      57. 28.100":  false,
		"ffmpeg version n6.1 Copyright\nlibavutil      58. 29.100":             false,
		"ffmpeg version 7.0.2 Copyright\nlibavutil      59.  8.100":            true,
		"ffmpeg version 10.0 Copyright\nlibavutil      62.  8.100":             true,
		"ffmpeg version N-109542-gfd50d5b Copyright\nlibavutil 59. 28.100 / 1": true,
		"ffmpeg version N-109542-gfd50d5b Copyright\nlibavutil 58. 28.100 / 1": false,
		"ffmpeg version strange": false,
	} {
		if got := readsOptions(text); got != want {
			t.Errorf("%q: %v", text, got)
		}
	}
}
