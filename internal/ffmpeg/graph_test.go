package ffmpeg

import (
	"strings"
	"testing"

	ff "github.com/u2takey/ffmpeg-go"
)

func TestGraphsThatTheLibraryGetsWrong(t *testing.T) {
	out := func(s ...*ff.Stream) *ff.Stream { return Output(s, "/tmp/out.mp4") }
	v := Input("/a.mp4").Get("v")
	for name, outputs := range map[string][]*ff.Stream{
		"two inputs taken for one": {out(
			Input("/a.mp4", ff.KwArgs{"ss": "5", "t": "10"}).Get("v"),
			Input("/a.mp4", ff.KwArgs{"ss": "10", "t": "5"}).Get("v"))},
		"two filters taken for one": {out(v.HFlip(), v.VFlip())},
		"no whitelist":              {out(ff.Input("file:/a.mp4").Get("v"))},
		"network":                   {out(ff.Input("http://a/b", ff.KwArgs{"protocol_whitelist": "x", "format_whitelist": "y"}).Get("v"))},
		"nothing":                   {},
	} {
		if args, err := GraphArgs(outputs...); err == nil {
			t.Errorf("%s: gave %q", name, args)
		}
	}
}

func TestEveryInputIsGuarded(t *testing.T) {
	a, b := Input("/a.mp4", ff.KwArgs{"ss": "5"}), Input("/b.mp4")
	args, err := GraphArgs(Output([]*ff.Stream{a.Get("v")}, "/out.mp4"), Output([]*ff.Stream{b.Get("v")}, "/b.mp4"))
	if err != nil {
		t.Fatal(err)
	}
	line := strings.Join(args, " ")
	for _, want := range []string{"-i file:/a.mp4", "-i file:/b.mp4", " file:/out.mp4"} {
		if !strings.Contains(line, want) {
			t.Errorf("%q isn't in %s", want, line)
		}
	}
	if n := strings.Count(line, "-format_whitelist "); n != 2 {
		t.Errorf("%d whitelists in %s", n, line)
	}
	if err := guarded([]string{"-protocol_whitelist", "file", "-format_whitelist", "mov", "-i", "file:/a", "-i", "file:/b"}); err == nil {
		t.Error("the first input's whitelists were taken for the second's")
	}
}
