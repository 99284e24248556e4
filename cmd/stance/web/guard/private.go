package guard

import (
	"io/fs"
	"runtime"
)

// What others on this machine may not do with a file, as bits of its mode. A group may read: that is
// how a service is given files of the one who keeps them.
const (
	toReadOrChange fs.FileMode = 0o027
	toChange       fs.FileMode = 0o022
)

// Private reports whether others on this machine can neither read nor change a file, as it must be
// with passwords, hashed as they are, and with the key of a certificate. Its group may read it.
func Private(info fs.FileInfo) bool { return barred(info, toReadOrChange) }

// Fixed reports whether others on this machine cannot change a file.
func Fixed(info fs.FileInfo) bool { return barred(info, toChange) }

// barred reports whether the mode of a file grants none of the bits. Windows has no such bits; there
// the folder's access list holds.
func barred(info fs.FileInfo, bits fs.FileMode) bool {
	return runtime.GOOS == "windows" || info.Mode().Perm()&bits == 0
}
