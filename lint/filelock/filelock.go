// Package filelock lets one process at a time write. The system lets go of a lock when the process
// ends, however it ends.
package filelock

import (
	"errors"
	"os"
)

// ErrHeld is the error of Take while the lock is held.
var ErrHeld = errors.New("the lock is held")

// Take takes the lock of a file, which is made if it is missing, and does not wait for it. Closing the
// file lets go.
func Take(name string) (*os.File, error) {
	f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, err
	}
	if err := lock(f, false); err != nil {
		f.Close()
		return nil, err
	}
	return f, nil
}

// Wait waits until no other open file holds the lock of f, and takes it. Closing the file lets go.
func Wait(f *os.File) error { return lock(f, true) }
