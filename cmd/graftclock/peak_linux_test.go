package main

import (
	"os"
	"syscall"
)

// peak is the peak resident memory of a process in KiB, as Linux counts it.
func peak(p *os.ProcessState) int64 {
	if usage, ok := p.SysUsage().(*syscall.Rusage); ok {
		return usage.Maxrss
	}
	return 0
}
