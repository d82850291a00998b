//go:build linux || darwin

package cli

import (
	"os"

	"golang.org/x/sys/unix"
)

// takesKeys reports whether a file is a terminal at which somebody types.
func takesKeys(file *os.File) bool {
	_, err := unix.IoctlGetTermios(int(file.Fd()), readTerminal)
	return err == nil
}

// hide stops a terminal from showing what is typed, until show is called.
func hide(file *os.File) (show func(), err error) {
	before, err := unix.IoctlGetTermios(int(file.Fd()), readTerminal)
	if err != nil {
		return nil, err
	}
	hidden := *before
	hidden.Lflag &^= unix.ECHO
	return func() { unix.IoctlSetTermios(int(file.Fd()), setTerminal, before) }, unix.IoctlSetTermios(int(file.Fd()), setTerminal, &hidden)
}
