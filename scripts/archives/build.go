package main

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// build compiles the programs for t: pushcue, and for Windows the one that opens the
// review page without a console window.
func (r *release) build(ctx context.Context, t target) ([]file, error) {
	if t.system != "windows" {
		program, err := r.compile(ctx, t, "pushcue", "./cmd/pushcue", "")
		return []file{program}, err
	}
	console, err := r.compile(ctx, t, "pushcue.exe", "./cmd/pushcue", "")
	if err != nil {
		return nil, err
	}
	window, err := r.compile(ctx, t, "pushcue-window.exe", "./cmd/pushcue-window", " -H windowsgui")
	return []file{console, window}, err
}

func (r *release) compile(ctx context.Context, t target, name, folder, linkFlags string) (file, error) {
	into := filepath.Join(r.stage, t.system, t.processor, name)
	cmd := exec.CommandContext(ctx, "go", "build", "-trimpath", "-buildvcs=false", "-ldflags=-s -w -X main.version="+r.version+linkFlags, "-o", into, folder)
	cmd.Env = append(os.Environ(), "GOOS="+t.system, "GOARCH="+t.processor, "CGO_ENABLED=0", "GOFLAGS=", "GOAMD64=v1", "GOARM64=v8.0", "GOEXPERIMENT=")
	cmd.Stderr = os.Stderr
	if err := cmd.Run(); err != nil {
		return file{}, fmt.Errorf("building %s for %s: %w", folder, t, err)
	}
	data, err := os.ReadFile(into)
	return file{name, 0o755, data}, err
}

// documents returns what stands in every archive beside the programs. Completion scripts
// and manual page are printed by the program itself, built for this computer.
func (r *release) documents(ctx context.Context) ([]file, error) {
	program, err := r.compile(ctx, host, "pushcue-here", "./cmd/pushcue", "")
	if err != nil {
		return nil, err
	}
	here := filepath.Join(r.stage, host.system, host.processor, program.name)
	var files []file
	for _, d := range []struct{ name, command, argument string }{
		{"completions/pushcue.bash", "completion", "bash"},
		{"completions/_pushcue", "completion", "zsh"},
		{"completions/pushcue.fish", "completion", "fish"},
		{"completions/pushcue.ps1", "completion", "powershell"},
		{"man/pushcue.1", "manual", ""},
	} {
		text, err := exec.CommandContext(ctx, here, d.command, d.argument).Output()
		if err != nil {
			return nil, fmt.Errorf("pushcue %s %s: %w", d.command, d.argument, err)
		}
		files = append(files, file{d.name, 0o644, text})
	}
	for _, name := range []string{"README.md", "CHANGELOG.md", "LICENSE"} {
		text, err := os.ReadFile(name)
		if err != nil {
			return nil, err
		}
		files = append(files, file{name, 0o644, text})
	}
	texts, err := licences(ctx)
	return append(files, texts...), err
}

var licenceFile = regexp.MustCompile(`(?i)^(un)?licen[sc]e|^copying|^notice|^patents`)

// licences returns the licence texts of Go and of all modules that are linked for any
// target.
func licences(ctx context.Context) ([]file, error) {
	goRoot, err := exec.CommandContext(ctx, "go", "env", "GOROOT").Output()
	if err != nil {
		return nil, err
	}
	folders := map[string]string{"go": strings.TrimSpace(string(goRoot))}
	for _, t := range targets {
		list := exec.CommandContext(ctx, "go", "list", "-deps", "-f", "{{with .Module}}{{.Path}}={{.Dir}}{{end}}", "./cmd/...")
		list.Env = append(os.Environ(), "GOOS="+t.system, "GOARCH="+t.processor, "CGO_ENABLED=0")
		out, err := list.Output()
		if err != nil {
			return nil, err
		}
		for _, line := range strings.Fields(string(out)) {
			if module, dir, _ := strings.Cut(line, "="); module != "pushcue" {
				folders[module] = dir
			}
		}
	}
	var texts []file
	for module, dir := range folders {
		entries, err := os.ReadDir(dir)
		if err != nil {
			return nil, err
		}
		before := len(texts)
		for _, e := range entries {
			if e.IsDir() || !licenceFile.MatchString(e.Name()) {
				continue
			}
			text, err := os.ReadFile(filepath.Join(dir, e.Name()))
			if err != nil {
				return nil, err
			}
			texts = append(texts, file{path.Join("licences", module, e.Name()), 0o644, text})
		}
		if !slices.ContainsFunc(texts[before:], func(f file) bool { return !strings.HasPrefix(strings.ToLower(path.Base(f.name)), "notice") }) {
			return nil, fmt.Errorf("the module %s has no licence text", module)
		}
	}
	return sorted(texts), nil
}
