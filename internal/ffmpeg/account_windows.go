package ffmpeg

import (
	"unsafe"

	"golang.org/x/sys/windows"
)

// jobAccount is JOBOBJECT_BASIC_AND_IO_ACCOUNTING_INFORMATION (Microsoft, winnt.h).
type jobAccount struct {
	totalUserTime, totalKernelTime         int64
	thisPeriodUserTime, thisPeriodKernTime int64
	pageFaults, processes, active, ended   uint32
	io                                     windows.IO_COUNTERS
}

// account is the processor time and the bytes of all processes of the child's job.
func (c *child) account() (spent, moved uint64) {
	var a jobAccount
	err := windows.QueryInformationJobObject(c.job, windows.JobObjectBasicAndIoAccountingInformation,
		uintptr(unsafe.Pointer(&a)), uint32(unsafe.Sizeof(a)), nil)
	if err != nil {
		return 0, 0
	}
	return uint64(a.totalUserTime + a.totalKernelTime), a.io.ReadTransferCount + a.io.WriteTransferCount + a.io.OtherTransferCount
}
