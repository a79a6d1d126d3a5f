//go:build !windows

package main

import (
	"os"

	"golang.org/x/term"
)

// takesColour reports whether a file is a terminal, which here takes colours.
func takesColour(f *os.File) bool { return term.IsTerminal(int(f.Fd())) }
