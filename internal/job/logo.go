package job

import (
	_ "image/jpeg"
	"os"
	"path/filepath"
	"slices"

	"pushcue/internal/reach"
)

// Bounds on a logo: what is larger isn't one, and is scaled to what a page needs.
const (
	LogoBytes  = 20 << 20
	LogoPixels = 50_000_000
	LogoWide   = 600
	LogoHigh   = 270
)

// ChosenLogo is the logo that a person chose on the review page, in the user's settings. It
// stands in for the one that the settings name, and for none: a job, a visit or a firm.toml
// above them that names a logo keeps its own.
const ChosenLogo = "chosen-logo.png"

// takeChosenLogo has a job that names no logo of its own take the one that was chosen.
func (j *Job) takeChosenLogo() {
	f, settings := &j.Sheet.Firm, j.Ask.Settings
	if settings != "" && (f.Logo == "" || f.LogoDir == settings) && IsFile(filepath.Join(settings, ChosenLogo)) {
		f.Logo, f.LogoDir = ChosenLogo, settings
	}
}

// LogoPath is where the firm's logo lies, as the sheet that names it says; "" where
// none is named.
func (j *Job) LogoPath() string {
	f := j.Sheet.Firm
	path := filepath.FromSlash(f.Logo)
	switch {
	case f.Logo == "" || filepath.IsAbs(path):
		return path
	case f.LogoDir == "": // named by a person's correction
		return filepath.Join(j.Dir, path)
	}
	return filepath.Join(f.LogoDir, path)
}

// OpenLogo opens the firm's logo, which lies in the job or beside the sheet that names
// it. The user's own settings may hold a link to it.
func (j *Job) OpenLogo() (*os.File, error) {
	f, path := j.Sheet.Firm, j.LogoPath()
	if j.Ask.Settings != "" && f.LogoDir == j.Ask.Settings && filepath.IsLocal(filepath.FromSlash(f.Logo)) {
		return reach.Open(path, LogoBytes)
	}
	may := *j.Reach
	if f.LogoDir != "" {
		may.Folders = append(slices.Clone(may.Folders), f.LogoDir)
	}
	return may.Open(path, LogoBytes)
}
