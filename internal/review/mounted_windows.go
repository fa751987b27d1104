package review

import "golang.org/x/sys/windows"

// mounted are the drives that have a letter, network shares among them, without the
// system's own. None is looked at: one that doesn't answer would hold up the rest.
func mounted() []string {
	letters, err := windows.GetLogicalDrives()
	if err != nil {
		return nil
	}
	var all []string
	for i := range 26 {
		if letters&(1<<i) != 0 {
			all = append(all, string(rune('A'+i))+`:\`)
		}
	}
	system, _ := windows.GetSystemWindowsDirectory() // without an answer it is C:
	return besidesSystem(all, system)
}

// shelves are the folders that drives and network shares stand in.
func shelves() []string { return mounted() }
