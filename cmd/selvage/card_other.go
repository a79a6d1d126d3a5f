//go:build !linux && !darwin && !freebsd && !windows

package main

import "errors"

// freeSpace cannot tell on this system.
func freeSpace(string) (uint64, error) { return 0, errors.ErrUnsupported }

// syncFolder does nothing on this system.
func syncFolder(string) error { return nil }

// cards are not known on this system.
func cards() []string { return nil }
