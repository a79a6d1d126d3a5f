package desk

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// lock locks a byte far behind the end of the file, since what is locked cannot
// be read by others.
func lock(f *os.File) error {
	const far = 1 << 30
	err := windows.LockFileEx(windows.Handle(f.Fd()), windows.LOCKFILE_EXCLUSIVE_LOCK|windows.LOCKFILE_FAIL_IMMEDIATELY, 0, 1, 0, &windows.Overlapped{Offset: far})
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) {
		return errLocked
	}
	return err
}
