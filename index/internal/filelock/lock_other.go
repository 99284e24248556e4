//go:build !(darwin || dragonfly || freebsd || illumos || linux || netbsd || openbsd || windows)

package filelock

import (
	"errors"
	"os"
)

// lock refuses, because two writers unseen by one another would spoil the folder.
func lock(*os.File) error { return errors.ErrUnsupported }

// SyncFolder does nothing where it is not known how to.
func SyncFolder(string) error { return nil }
