package main

const someDrive = "/Volumes/STICK"

func howToEject(drive string) (how, command string) {
	return "press the eject sign beside it in the Finder, or type:", "diskutil eject " + quoted(drive)
}
