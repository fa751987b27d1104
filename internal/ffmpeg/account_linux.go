package ffmpeg

import (
	"bytes"
	"fmt"
	"os"
	"strconv"
)

// mostChildren bounds the processes that are looked at: ffmpeg starts none, a script in
// its place starts ffmpeg.
const mostChildren = 64

// account is the processor time and the bytes of the child and of what it started, as
// the kernel accounts them (proc(5): stat fields 14 to 17, io). What can't be read
// counts as nothing.
func (c *child) account() (spent, moved uint64) {
	if c.over.Load() {
		return 0, 0
	}
	all := []string{strconv.Itoa(c.cmd.Process.Pid)}
	for i := 0; i < len(all) && i < mostChildren; i++ {
		spent += spentBy(all[i])
		moved += movedBy(all[i])
		started, _ := os.ReadFile(fmt.Sprintf("/proc/%s/task/%[1]s/children", all[i]))
		for _, pid := range bytes.Fields(started) {
			all = append(all, string(pid))
		}
	}
	return spent, moved
}

func spentBy(pid string) (sum uint64) {
	text, _ := os.ReadFile("/proc/" + pid + "/stat")
	// The program's name, in brackets, may hold anything.
	fields := bytes.Fields(text[bytes.LastIndexByte(text, ')')+1:])
	const first, last = 14 - 3, 17 - 3
	for i := first; i <= last && i < len(fields); i++ {
		n, _ := strconv.ParseUint(string(fields[i]), 10, 64)
		sum += n
	}
	return sum
}

func movedBy(pid string) (sum uint64) {
	text, _ := os.ReadFile("/proc/" + pid + "/io")
	for line := range bytes.Lines(text) {
		switch key, value, _ := bytes.Cut(line, []byte(":")); string(key) {
		case "rchar", "wchar", "read_bytes", "write_bytes":
			n, _ := strconv.ParseUint(string(bytes.TrimSpace(value)), 10, 64)
			sum += n
		}
	}
	return sum
}
