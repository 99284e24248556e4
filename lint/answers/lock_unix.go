//go:build darwin || dragonfly || freebsd || illumos || linux || netbsd || openbsd

package answers

import (
	"errors"
	"os"

	"golang.org/x/sys/unix"
)

// lock waits until no other open file holds the lock.
func lock(f *os.File) error {
	for {
		err := unix.Flock(int(f.Fd()), unix.LOCK_EX)
		if !errors.Is(err, unix.EINTR) {
			return err
		}
	}
}

// syncFolder makes a new name in a folder last.
func syncFolder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}
