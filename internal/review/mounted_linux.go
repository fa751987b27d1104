package review

import (
	"os"
	"slices"
	"strconv"
	"strings"
)

// mounted are the folders that drives stand in. They are read off the system's own
// list: looking at a folder whose drive doesn't answer never ends.
func mounted() []string {
	text, err := os.ReadFile("/proc/self/mountinfo")
	if err != nil {
		return nil
	}
	return pluggedIn(string(text))
}

// pluggedIn are the places of a list in proc(5)'s form where a desktop puts what is
// plugged in, or a person what is mounted by hand.
func pluggedIn(mountinfo string) []string {
	var all []string
	for line := range strings.Lines(mountinfo) {
		fields := strings.Fields(line)
		if len(fields) < 5 {
			continue
		}
		at := unescaped(fields[4])
		for _, root := range []string{"/media/", "/run/media/", "/mnt/"} {
			if strings.HasPrefix(at, root) && !slices.Contains(all, at) {
				all = append(all, at)
			}
		}
	}
	return all
}

// shelves are all folders that drives and network shares stand in, those that are built
// in too, but not those that hold the system or other people's homes.
func shelves() []string {
	text, err := os.ReadFile("/proc/self/mountinfo")
	if err != nil {
		return nil
	}
	return shelvesIn(string(text))
}

// Kinds of file systems, as proc(5)'s mountinfo names them, of which people keep work on.
var diskKinds = []string{
	"ext2", "ext3", "ext4", "xfs", "btrfs", "f2fs", "zfs", "bcachefs", "jfs", "reiserfs", "ntfs", "ntfs3", "fuseblk", "vfat", "exfat", "hfsplus", "udf", "iso9660",
	"nfs", "nfs4", "cifs", "smb3", "9p", "virtiofs", "ceph", "afs", "fuse.sshfs", "fuse.rclone", "fuse.mergerfs",
}

// systemFolders hold the system, by the Filesystem Hierarchy Standard 3.0, or homes.
var systemFolders = []string{"/bin", "/boot", "/dev", "/efi", "/etc", "/home", "/lib", "/lib32", "/lib64", "/nix", "/opt", "/proc", "/root", "/run", "/sbin", "/snap", "/sys", "/tmp", "/usr", "/var"}

func shelvesIn(mountinfo string) []string {
	all := pluggedIn(mountinfo)
	for line := range strings.Lines(mountinfo) {
		before, after, _ := strings.Cut(line, " - ")
		fields, kind := strings.Fields(before), strings.Fields(after)
		if len(fields) < 5 || len(kind) == 0 || !slices.Contains(diskKinds, kind[0]) {
			continue
		}
		at := unescaped(fields[4])
		isSystem := at == "/" || slices.ContainsFunc(systemFolders, func(folder string) bool { return within(folder, at) })
		if !isSystem && !slices.Contains(all, at) {
			all = append(all, at)
		}
	}
	return all
}

// unescaped undoes the octal escapes (\040 for a blank) of that form.
func unescaped(field string) string {
	var out []byte
	for i := 0; i < len(field); i++ {
		if field[i] == '\\' && i+4 <= len(field) {
			if b, err := strconv.ParseUint(field[i+1:i+4], 8, 8); err == nil {
				out = append(out, byte(b))
				i += 3
				continue
			}
		}
		out = append(out, field[i])
	}
	return string(out)
}
