//go:build !linux && !darwin && !freebsd && !windows

package desk

import (
	"errors"
	"os"
)

// lock cannot be had on this system.
func lock(*os.File) error { return errors.ErrUnsupported }
