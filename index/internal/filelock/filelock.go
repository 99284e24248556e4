// Package filelock keeps a folder to one writing process at a time. The system lets go of the lock when
// the process ends, however it ends.
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
	if err := lock(f); err != nil {
		f.Close()
		return nil, err
	}
	return f, nil
}
