// Command archives builds pushcue for every system and packs it for download.
// scripts/release runs it.
//
//	go run ./scripts/archives -version 1.2.0 -time 1790000000 -out build/release
//
// The bytes of what it makes depend on the source, the version, the time and the Go
// toolchain only.
package main

import (
	"context"
	"crypto/sha256"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"time"
)

// A target is a system and a processor.
type target struct{ system, processor string }

func (t target) String() string { return t.system + "/" + t.processor }

var targets = []target{
	{"linux", "amd64"}, {"linux", "arm64"},
	{"windows", "amd64"}, {"windows", "arm64"},
	{"darwin", "amd64"}, {"darwin", "arm64"},
}

// maxArchive is the largest archive that is allowed, in bytes.
const maxArchive = 20 << 20

var versionForm = regexp.MustCompile(`^\d+\.\d+\.\d+(-[0-9A-Za-z.]+)?$`)

// A release is what all its archives have in common.
type release struct {
	version string
	at      time.Time
	out     string // folder of the finished archives
	stage   string // folder for what is built on the way
	only    string // a target, or "" for all
	quick   bool   // no packages
	common  []file // what stands in every archive
}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	var r release
	var seconds int64
	flag.StringVar(&r.version, "version", "", "three numbers, as in 1.2.0 or 1.2.0-rc.1")
	flag.Int64Var(&seconds, "time", 0, "the time that every file bears, in seconds since 1970")
	flag.StringVar(&r.out, "out", filepath.Join("build", "release"), "`FOLDER` of the archives; what it holds is replaced")
	flag.StringVar(&r.only, "only", "", "one target, as in linux/amd64")
	flag.BoolVar(&r.quick, "no-packages", false, "make no .deb and no .rpm")
	flag.Parse()
	r.at = time.Unix(seconds, 0).UTC()
	if err := r.make(ctx); err != nil {
		fmt.Fprintln(os.Stderr, "error:", err)
		os.Exit(1)
	}
}

func (r *release) make(ctx context.Context) error {
	if !versionForm.MatchString(r.version) {
		return fmt.Errorf("%q isn't a version such as 1.2.0", r.version)
	}
	var err error
	if r.stage, err = os.MkdirTemp("", "pushcue-release-*"); err != nil {
		return err
	}
	defer os.RemoveAll(r.stage)
	if err := errors.Join(os.RemoveAll(r.out), os.MkdirAll(r.out, 0o755)); err != nil {
		return err
	}
	if r.common, err = r.documents(ctx); err != nil {
		return err
	}
	made := 0
	for _, t := range targets {
		if r.only != "" && r.only != t.String() {
			continue
		}
		made++
		programs, err := r.build(ctx, t)
		if err != nil {
			return err
		}
		if err := r.archive(t, programs); err != nil {
			return err
		}
		if t.system == "linux" && !r.quick {
			if err := r.packages(ctx, t, programs[0]); err != nil {
				return err
			}
		}
	}
	if made == 0 {
		return fmt.Errorf("there is no target %q", r.only)
	}
	return r.sums()
}

// archive packs what was built for t.
func (r *release) archive(t target, programs []file) error {
	top := fmt.Sprintf("pushcue-%s-%s-%s", r.version, t.system, t.processor)
	name, pack := top+".tar.gz", tarGz
	if t.system == "windows" {
		name, pack = top+".zip", zipped
	}
	data, err := pack(top, append(programs, r.common...), r.at)
	if err != nil {
		return err
	}
	if len(data) > maxArchive {
		return fmt.Errorf("%s has %d bytes, %d are allowed", name, len(data), maxArchive)
	}
	fmt.Printf("%-45s %5.1f MB\n", name, float64(len(data))/1e6)
	return os.WriteFile(filepath.Join(r.out, name), data, 0o644)
}

// sums writes SHA256SUMS of everything in the folder.
func (r *release) sums() error {
	entries, err := os.ReadDir(r.out)
	if err != nil {
		return err
	}
	var list strings.Builder
	for _, e := range entries {
		data, err := os.ReadFile(filepath.Join(r.out, e.Name()))
		if err != nil {
			return err
		}
		fmt.Fprintf(&list, "%x  %s\n", sha256.Sum256(data), e.Name())
	}
	return os.WriteFile(filepath.Join(r.out, "SHA256SUMS"), []byte(list.String()), 0o644)
}

var host = target{runtime.GOOS, runtime.GOARCH}
