package ffmpeg

import (
	"bytes"
	"context"
	"io"
	"regexp"
	"strconv"
	"strings"
	"sync"

	"pushcue/timeline/words"
)

// ffmpeg 5.1 came with libavutil 57.28, as its own -version says. Builds from the
// source of a day carry a hash or a date for a version, and the library's number.
const (
	oldestMajor, oldestMinor     = 5, 1
	oldestAVUtilMajor, utilMinor = 57, 28

	// 7.0 reads any option from a file; it came with libavutil 59 (recalled, not looked up).
	optionFilesSince, utilSince = 7, 59
)

var (
	versionWord = regexp.MustCompile(`(?m)^ff(?:mpeg|probe) version (\S+)`)
	release     = regexp.MustCompile(`^n?(\d{1,3})\.(\d{1,3})(?:[.\-~+].*)?$`)
	avutil      = regexp.MustCompile(`(?m)^libavutil\s+(\d+)\.\s*(\d+)\.`)
)

// parseVersion reads what -version prints: the version as written, and whether it is
// new enough. ok is false when it is no ffmpeg's answer.
func parseVersion(text string) (version string, fresh, ok bool) {
	m := versionWord.FindStringSubmatch(text)
	if m == nil {
		return "", false, false
	}
	version = m[1]
	if r := release.FindStringSubmatch(version); r != nil {
		return version, atLeast(r[1], r[2], oldestMajor, oldestMinor), true
	}
	if u := avutil.FindStringSubmatch(text); u != nil {
		return version, atLeast(u[1], u[2], oldestAVUtilMajor, utilMinor), true
	}
	return version, false, true
}

// readsOptions tells whether -version's answer is of an ffmpeg that reads any option
// from a file.
func readsOptions(text string) bool {
	m := versionWord.FindStringSubmatch(text)
	if m == nil {
		return false
	}
	if r := release.FindStringSubmatch(m[1]); r != nil {
		return atLeast(r[1], r[2], optionFilesSince, 0)
	}
	u := avutil.FindStringSubmatch(text)
	return u != nil && atLeast(u[1], u[2], utilSince, 0)
}

func atLeast(major, minor string, wantMajor, wantMinor int) bool {
	a, _ := strconv.Atoi(major)
	b, _ := strconv.Atoi(minor)
	return a > wantMajor || a == wantMajor && b >= wantMinor
}

// encoders of H.264 that players take, the best first. Those after the first need
// hardware or a system service that may be missing: they are tried.
var encoders = []string{"libx264", "h264_videotoolbox", "h264_nvenc", "h264_qsv", "h264_amf", "h264_mf", "libopenh264"}

// filters that the work can't do without.
var filters = []string{"ass", "bwdif", "scale", "pad", "select", "setpts", "settb", "interleave", "concat", "split", "aresample", "apad", "atrim"}

// check asks the programs what they are. Whoever has it establish more, or by another
// rule, raises cacheVersion.
func (t *Tools) check(ctx context.Context) error {
	questions := [][]string{{t.FFmpeg, "-version"}, {t.FFprobe, "-version"}, {t.FFmpeg, "-filters"}, {t.FFmpeg, "-encoders"}}
	answers, errs := make([]string, len(questions)), make([]error, len(questions))
	var wait sync.WaitGroup
	for i, q := range questions {
		wait.Go(func() { answers[i], errs[i] = answer(ctx, q[0], append([]string{"-hide_banner"}, q[1:]...)...) })
	}
	wait.Wait()
	for _, i := range []int{0, 1} {
		if errs[i] != nil {
			return errs[i]
		}
		version, fresh, ok := parseVersion(answers[i])
		switch {
		case !ok:
			return &Error{Text: words.Tell("%s doesn't answer as ffmpeg does", questions[i][0]), Hint: installHint()}
		case !fresh:
			return &Error{Text: words.Tell("%s is version %s: 5.1 or newer is needed", questions[i][0], version), Hint: installHint()}
		}
		if i == 0 {
			t.Version, t.optionFiles = version, readsOptions(answers[i])
		}
	}
	if errs[2] != nil || errs[3] != nil {
		return &Error{Text: words.Tell("%s doesn't say what it can do", t.FFmpeg), Hint: installHint()}
	}
	for _, f := range filters {
		if !listed(answers[2], f) {
			library := ""
			if f == "ass" {
				library = " (libass)"
			}
			return &Error{Text: words.Tell("%s was built without the filter %s%s", t.FFmpeg, f, library), Hint: installHint()}
		}
	}
	t.MapsTones = listed(answers[2], "zscale") && listed(answers[2], "tonemap")
	return t.chooseEncoder(ctx, answers[3])
}

func (t *Tools) chooseEncoder(ctx context.Context, list string) error {
	for _, name := range encoders {
		if listed(list, name) && (name == "libx264" || t.encodes(ctx, name)) {
			t.Encoder = name
			return nil
		}
	}
	return &Error{Text: words.Tell("%s has no H.264 encoder that works here", t.FFmpeg), Hint: installHint()}
}

// encodes tries an encoder on a few frames.
func (t *Tools) encodes(ctx context.Context, name string) bool {
	_, err := answer(ctx, t.FFmpeg, "-hide_banner", "-v", "error", "-f", "lavfi", "-i", "color=size=320x240:rate=25",
		"-frames:v", "5", "-pix_fmt", "yuv420p", "-c:v", name, "-f", "null", "-")
	return err == nil
}

// listed looks for a name in the second column of a list that ffmpeg prints.
func listed(list, name string) bool {
	for line := range strings.Lines(list) {
		if f := strings.Fields(line); len(f) > 1 && f[1] == name {
			return true
		}
	}
	return false
}

// answer runs a program that says something short.
func answer(ctx context.Context, path string, args ...string) (string, error) {
	const most = 4 << 20
	var out, said bytes.Buffer
	p := process{path: path, args: args, stderr: &bounded{&said, tailBytes}, stdout: func(r io.Reader) error {
		_, err := io.Copy(&out, io.LimitReader(r, most))
		return err
	}}
	err := p.run(ctx)
	return out.String(), err
}

// bounded keeps the beginning of what is written to it.
type bounded struct {
	to   *bytes.Buffer
	most int
}

func (b *bounded) Write(p []byte) (int, error) {
	if room := b.most - b.to.Len(); room > 0 {
		b.to.Write(p[:min(room, len(p))])
	}
	return len(p), nil
}
