//go:build unix

package main

import (
	"os"
	"runtime"
	"syscall"
)

// peak is the most memory that a process had, in bytes.
func peak(s *os.ProcessState) int64 {
	use, ok := s.SysUsage().(*syscall.Rusage)
	if !ok {
		return 0
	}
	if runtime.GOOS == "darwin" || runtime.GOOS == "ios" {
		return int64(use.Maxrss)
	}
	return int64(use.Maxrss) << 10
}
