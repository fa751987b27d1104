package ffmpeg

import (
	"io"
	"os/exec"
	"sync/atomic"
	"syscall"
	"unsafe"

	"golang.org/x/sys/windows"
)

// quiet is empty: ffmpeg is asked to stop by a q on its standard input, since
// Windows can't send an interrupt to one process.
var quiet []string

// A child is a running process that doesn't outlive us: it belongs to a job object
// that ends with the last handle to it, which is ours.
type child struct {
	cmd   *exec.Cmd
	job   windows.Handle
	stdin io.WriteCloser
	over  atomic.Bool // waited for
}

func tie(cmd *exec.Cmd) (*child, error) {
	cmd.SysProcAttr = &syscall.SysProcAttr{CreationFlags: windows.CREATE_NEW_PROCESS_GROUP | windows.CREATE_NO_WINDOW}
	stdin, err := cmd.StdinPipe()
	if err != nil {
		return nil, err
	}
	job, err := windows.CreateJobObject(nil, nil)
	if err != nil {
		return nil, err
	}
	limits := windows.JOBOBJECT_EXTENDED_LIMIT_INFORMATION{}
	limits.BasicLimitInformation.LimitFlags = windows.JOB_OBJECT_LIMIT_KILL_ON_JOB_CLOSE
	if _, err := windows.SetInformationJobObject(job, windows.JobObjectExtendedLimitInformation,
		uintptr(unsafe.Pointer(&limits)), uint32(unsafe.Sizeof(limits))); err != nil {
		windows.CloseHandle(job)
		return nil, err
	}
	return &child{cmd: cmd, job: job, stdin: stdin}, nil
}

func (c *child) started() error {
	handle, err := windows.OpenProcess(windows.PROCESS_SET_QUOTA|windows.PROCESS_TERMINATE, false, uint32(c.cmd.Process.Pid))
	if err != nil {
		return err
	}
	defer windows.CloseHandle(handle)
	return windows.AssignProcessToJobObject(c.job, handle)
}

// ask lets the child close its files.
func (c *child) ask() error {
	_, err := io.WriteString(c.stdin, "q")
	return err
}

// kill ends the child and what it started, unless it was waited for.
func (c *child) kill() {
	if !c.over.Load() {
		windows.TerminateJobObject(c.job, 1)
	}
}

// giveWay lets all else go before the child. Where that is refused it runs as before.
func (c *child) giveWay() {
	handle, err := windows.OpenProcess(windows.PROCESS_SET_INFORMATION, false, uint32(c.cmd.Process.Pid))
	if err != nil {
		return
	}
	defer windows.CloseHandle(handle)
	_ = windows.SetPriorityClass(handle, windows.BELOW_NORMAL_PRIORITY_CLASS)
}

func (c *child) release() { windows.CloseHandle(c.job) }
