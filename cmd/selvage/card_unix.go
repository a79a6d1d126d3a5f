//go:build linux || darwin || freebsd

package main

import (
	"errors"
	"os"
	"os/user"
	"path/filepath"
	"runtime"

	"golang.org/x/sys/unix"
)

// freeSpace returns the bytes that this user may still write where folder lies.
func freeSpace(folder string) (uint64, error) {
	var s unix.Statfs_t
	if err := unix.Statfs(folder, &s); err != nil {
		return 0, err
	}
	if s.Blocks == 0 { // a file system that keeps no count
		return 0, errors.ErrUnsupported
	}
	return uint64(max(s.Bavail, 0)) * uint64(s.Bsize), nil
}

// syncFolder waits until the names in a folder are on the disk, where its file
// system can do that.
func syncFolder(folder string) error {
	f, err := os.Open(folder)
	if err != nil {
		return err
	}
	defer f.Close()
	err = f.Sync()
	if errors.Is(err, unix.EINVAL) || errors.Is(err, unix.ENOTSUP) {
		return nil
	}
	return err
}

// cards returns the folders at which desktops mount cards, sticks and other
// volumes that come and go.
func cards() []string {
	if runtime.GOOS == "darwin" {
		return volumes("/Volumes")
	}
	name := ""
	if u, err := user.Current(); err == nil {
		name = u.Username
	}
	return append(volumes(filepath.Join("/media", name)), volumes(filepath.Join("/run/media", name))...)
}

// volumes are the folders in a folder; a link, as to the system's own disk, is
// none.
func volumes(folder string) []string {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return nil
	}
	var found []string
	for _, e := range entries {
		if e.IsDir() {
			found = append(found, filepath.Join(folder, e.Name()))
		}
	}
	return found
}
