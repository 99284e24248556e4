//go:build !(darwin || dragonfly || freebsd || illumos || linux || netbsd || openbsd || windows)

package filelock

import (
	"errors"
	"os"
)

// lock refuses, because two writers unseen by one another would spoil what they write.
func lock(*os.File, bool) error { return errors.ErrUnsupported }

// SyncFolder does nothing where it is not known how to.
func SyncFolder(string) error { return nil }
