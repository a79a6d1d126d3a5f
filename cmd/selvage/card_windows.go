package main

import (
	"fmt"

	"golang.org/x/sys/windows"
)

// freeSpace returns the bytes that this user may still write where folder lies.
func freeSpace(folder string) (uint64, error) {
	path, err := windows.UTF16PtrFromString(folder)
	if err != nil {
		return 0, err
	}
	var free uint64
	err = windows.GetDiskFreeSpaceEx(path, &free, nil, nil)
	return free, err
}

// syncFolder does nothing: Windows keeps no folder back for long, and lets none
// be flushed.
func syncFolder(string) error { return nil }

// cards returns the roots of memory cards and sticks.
func cards() []string {
	drives, err := windows.GetLogicalDrives()
	if err != nil {
		return nil
	}
	var roots []string
	for i := range 26 {
		if drives&(1<<i) == 0 {
			continue
		}
		root := fmt.Sprintf(`%c:\`, 'A'+i)
		if path, err := windows.UTF16PtrFromString(root); err == nil && windows.GetDriveType(path) == windows.DRIVE_REMOVABLE {
			roots = append(roots, root)
		}
	}
	return roots
}
