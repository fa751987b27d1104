package desktop

import (
	"context"
	"errors"
	"html/template"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"pushcue/internal/safefile"
)

// A Lead is a file that leads a browser to an address. The command line of whatever opens
// the browser shows the file's path only, since every user of a computer can read it;
// what is in the file this user alone can.
type Lead struct {
	Path   string
	place  *safefile.Folder // holds folder
	folder *safefile.Temp
}

const (
	leadFolder = "pushcue-open-" // and a random name
	leadFile   = "pushcue.html"
	leadLasts  = 2 * time.Minute
)

// leadPage goes on by itself. The address is no secret of the page before: it isn't sent
// along as where the browser came from.
var leadPage = template.Must(template.New("").Parse(`<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="referrer" content="no-referrer">
<meta http-equiv="refresh" content="0; url={{.}}">
<title>pushcue</title>
</head>
<body><p><a href="{{.}}" rel="noreferrer">pushcue</a></p></body>
</html>
`))

// NewLead writes a file that leads to an address of this computer. Remove must follow.
func NewLead(ctx context.Context, address string) (*Lead, error) {
	if !strings.HasPrefix(address, "http://127.0.0.1:") {
		return nil, errors.New("not an address of this computer")
	}
	var failed error
	for _, place := range leadPlaces() {
		lead, err := leadIn(ctx, place, address)
		if err == nil {
			return lead, nil
		}
		failed = errors.Join(failed, err)
	}
	return nil, failed
}

// leadPlaces are where a browser in a sandbox may read too, the likeliest first: on Linux
// it sees neither folders that begin with a dot nor the temporary one, and the strictest
// see the downloads only.
func leadPlaces() []string {
	home, err := os.UserHomeDir()
	if err != nil || !filepath.IsAbs(home) {
		return nil
	}
	switch runtime.GOOS {
	case "windows", "darwin":
		// Browsers read all that the user can; macOS asks before a program may write to
		// Downloads or Documents.
		if cache, err := os.UserCacheDir(); err == nil {
			return []string{cache, home}
		}
		return []string{home}
	}
	return []string{downloads(home), filepath.Join(home, "Documents"), home}
}

// downloads is the folder that the desktop keeps downloads in (freedesktop.org,
// xdg-user-dirs).
func downloads(home string) string {
	config := os.Getenv("XDG_CONFIG_HOME")
	if !filepath.IsAbs(config) {
		config = filepath.Join(home, ".config")
	}
	const most = 64 << 10
	usual := filepath.Join(home, "Downloads")
	folder, err := safefile.Open(config)
	if err != nil {
		return usual
	}
	defer folder.Close()
	text, err := folder.ReadFile("user-dirs.dirs", most)
	if err != nil {
		return usual
	}
	if named := downloadsIn(string(text), home); named != "" {
		return named
	}
	return usual
}

// downloadsIn is the downloads folder that a user-dirs.dirs names; "" for none.

func downloadsIn(userDirs, home string) string {
	for line := range strings.Lines(userDirs) {
		value, found := strings.CutPrefix(strings.TrimSpace(line), "XDG_DOWNLOAD_DIR=")
		if !found {
			continue
		}
		value = strings.Trim(value, `"`)
		if rest, below := strings.CutPrefix(value, "$HOME"); below {
			value = home + rest
		}
		if filepath.IsAbs(value) {
			return filepath.Clean(value)
		}
	}
	return ""
}

func leadIn(ctx context.Context, place, address string) (*Lead, error) {
	// Where everybody may rename folders, another one could take the place of ours.
	info, err := os.Stat(place)
	if err != nil {
		return nil, err
	}
	if runtime.GOOS != "windows" && info.Mode().Perm()&0o002 != 0 {
		return nil, errShared
	}
	folder, err := safefile.Open(place)
	if err != nil {
		return nil, err
	}
	sweepLeads(ctx, folder)
	temp, err := folder.TempFolder(leadFolder)
	if err != nil {
		folder.Close()
		return nil, err
	}
	lead := &Lead{Path: temp.At(leadFile), place: folder, folder: temp}
	if err := lead.write(address); err != nil {
		lead.Remove()
		return nil, err
	}
	return lead, nil
}

var errShared = errors.New("a file there isn't this user's alone")

func (l *Lead) write(address string) error {
	f, err := l.folder.OpenFile(leadFile, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	defer f.Close()
	// Some disks know no permissions.
	if info, err := f.Stat(); err != nil || runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0 {
		return errors.Join(errShared, err)
	}
	if err := leadPage.Execute(f, template.URL(address)); err != nil {
		return err
	}
	return f.Close()
}

// Remove removes the file. It may be called again.
func (l *Lead) Remove() {
	if l.folder != nil {
		_ = l.folder.Discard()
		l.place.Close()
		l.folder = nil
	}
}

// sweepLeads removes what killed programs have left. What an older one leads to isn't
// open any more.
func sweepLeads(ctx context.Context, folder *safefile.Folder) {
	entries, err := folder.ReadDir(".")
	if err != nil {
		return
	}
	for _, e := range entries {
		random, ours := strings.CutPrefix(e.Name(), leadFolder)
		info, err := e.Info()
		if ctx.Err() != nil || !ours || err != nil || !e.IsDir() || len(random) != 16 || strings.Trim(random, "0123456789abcdef") != "" || time.Since(info.ModTime()) < leadLasts {
			continue
		}
		_ = folder.Remove(e.Name() + "/" + leadFile)
		_ = folder.Remove(e.Name()) // unless something else lies in it
	}
}
