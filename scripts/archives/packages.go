package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"text/template"
)

// description follows the synopsis in both kinds of package.
const description = "Puts the written log of a drain camera push on its recording,\n  and makes what the customer gets."

// maintainer is nobody's address: RFC 2606 keeps .example for such uses.
const maintainer = "the pushcue authors <pushcue@pushcue.example>"

// packageSheet is nfpm's description of both packages. ffmpeg is asked for by its path in
// the .rpm, since several packages provide it there.
var packageSheet = template.Must(template.New("nfpm").Parse(`name: pushcue
arch: {{.Processor}}
platform: linux
version: {{.Version}}
section: video
priority: optional
maintainer: {{.Maintainer}}
license: MIT
mtime: {{.Time}}
description: |
  handover for the customer from a drain camera push
  {{.Description}}
overrides:
  deb:
    depends: [ffmpeg]
  rpm:
    depends: [/usr/bin/ffmpeg, /usr/bin/ffprobe]
rpm:
  buildhost: localhost
contents:
{{range .Members}}- src: {{.Source}}
  dst: {{.Into}}
{{- if .Packager}}
  packager: {{.Packager}}{{end}}
  file_info: {mode: {{printf "0%o" .Mode}}, owner: root, group: root, mtime: {{$.Time}}}
{{end}}`))

// A member is a file of a package.
type member struct {
	Source, Into, Packager string
	Mode                   os.FileMode
	data                   []byte
}

// packages makes the .deb and the .rpm with nfpm, which scripts/package/go.mod pins.
func (r *release) packages(ctx context.Context, t target, program file) error {
	dir, err := filepath.Abs(filepath.Join(r.stage, "packages", t.processor))
	if err != nil {
		return err
	}
	members, err := r.members(program)
	if err != nil {
		return err
	}
	for i := range members {
		m := &members[i]
		m.Source = filepath.Join(dir, fmt.Sprintf("member%d", i))
		if err := errors.Join(os.MkdirAll(dir, 0o755), os.WriteFile(m.Source, m.data, m.Mode), os.Chtimes(m.Source, r.at, r.at)); err != nil {
			return err
		}
	}
	var sheet bytes.Buffer
	err = packageSheet.Execute(&sheet, map[string]any{
		"Processor": t.processor, "Version": r.version, "Maintainer": maintainer, "Description": description,
		"Time": r.at.Format("2006-01-02T15:04:05Z"), "Members": members,
	})
	if err != nil {
		return err
	}
	sheetFile := filepath.Join(dir, "nfpm.yaml")
	if err := os.WriteFile(sheetFile, sheet.Bytes(), 0o644); err != nil {
		return err
	}
	out, err := filepath.Abs(r.out)
	if err != nil {
		return err
	}
	for _, kind := range []string{"deb", "rpm"} {
		name := fmt.Sprintf("pushcue-%s-linux-%s.%s", r.version, t.processor, kind)
		cmd := exec.CommandContext(ctx, "go", "-C", filepath.Join("scripts", "package"), "tool", "nfpm", "package", "--config", sheetFile, "--packager", kind, "--target", filepath.Join(out, name))
		cmd.Env = append(os.Environ(), fmt.Sprintf("SOURCE_DATE_EPOCH=%d", r.at.Unix()))
		if said, err := cmd.CombinedOutput(); err != nil {
			return fmt.Errorf("nfpm, for %s: %w\n%s", name, err, said)
		}
		info, err := os.Stat(filepath.Join(out, name))
		if err != nil {
			return err
		}
		fmt.Printf("%-45s %5.1f MB\n", name, float64(info.Size())/1e6)
	}
	return nil
}

// members lists what the packages install.
func (r *release) members(program file) ([]member, error) {
	documents := map[string][]byte{}
	for _, f := range r.common {
		documents[f.name] = f.data
	}
	manual, err := gzipped(documents["man/pushcue.1"])
	if err != nil {
		return nil, err
	}
	changes, err := gzipped(documents["CHANGELOG.md"])
	if err != nil {
		return nil, err
	}
	debianChanges, err := gzipped(fmt.Appendf(nil, "pushcue (%s) stable; urgency=medium\n\n  * What changed stands in CHANGELOG.gz.\n\n -- %s  %s\n", debianVersion(r.version), maintainer, r.at.Format("Mon, 02 Jan 2006 15:04:05 -0700")))
	if err != nil {
		return nil, err
	}
	licences, err := gzipped(licenceTexts(r.common))
	if err != nil {
		return nil, err
	}
	const doc = "/usr/share/doc/pushcue/"
	all := []member{
		{Into: "/usr/bin/pushcue", Mode: 0o755, data: program.data},
		{Into: "/usr/share/man/man1/pushcue.1.gz", data: manual},
		{Into: "/usr/share/bash-completion/completions/pushcue", data: documents["completions/pushcue.bash"]},
		{Into: "/usr/share/fish/vendor_completions.d/pushcue.fish", data: documents["completions/pushcue.fish"]},
		{Into: "/usr/share/zsh/vendor-completions/_pushcue", Packager: "deb", data: documents["completions/_pushcue"]},
		{Into: "/usr/share/zsh/site-functions/_pushcue", Packager: "rpm", data: documents["completions/_pushcue"]},
		{Into: doc + "CHANGELOG.gz", data: changes},
		{Into: doc + "changelog.gz", Packager: "deb", data: debianChanges},
		{Into: doc + "LICENCES.gz", data: licences},
		{Into: doc + "copyright", data: copyright(r.common)},
		{Into: "/usr/share/lintian/overrides/pushcue", Packager: "deb", data: []byte("# Go links its programs statically.\npushcue: statically-linked-binary [usr/bin/pushcue]\n")},
	}
	for i := range all {
		if all[i].Mode == 0 {
			all[i].Mode = 0o644
		}
	}
	return all, nil
}
