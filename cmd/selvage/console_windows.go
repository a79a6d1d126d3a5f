package main

import (
	"os"

	"golang.org/x/sys/windows"
)

// takesColour reports whether a file is a console that takes colours, which
// some do only when they are asked to. Its code page does not matter: Go writes
// to consoles in UTF-16.
func takesColour(f *os.File) bool {
	console := windows.Handle(f.Fd())
	var mode uint32
	if windows.GetConsoleMode(console, &mode) != nil {
		return false
	}
	const sequences = windows.ENABLE_VIRTUAL_TERMINAL_PROCESSING
	return mode&sequences != 0 || windows.SetConsoleMode(console, mode|sequences) == nil
}
