package desktop

import (
	"os"
	"path/filepath"
	"strings"
	"time"
)

// Zone is this computer's time zone by its IANA name. Go calls it "Local", which means
// nothing to whoever reads it elsewhere. time.Local where the system doesn't tell.
func Zone() *time.Location {
	if time.Local.String() != "Local" {
		return time.Local
	}
	link, err := os.Readlink("/etc/localtime") // what systemd and macOS keep; see localtime(5)
	if err != nil {
		return time.Local
	}
	return zoneOf(link)
}

// zoneOf is the zone whose file a link leads to.
func zoneOf(link string) *time.Location {
	_, name, found := strings.Cut(filepath.ToSlash(link), "zoneinfo/")
	if !found || name == "" {
		return time.Local
	}
	zone, err := time.LoadLocation(name)
	if err != nil {
		return time.Local
	}
	return zone
}
