package cli

import (
	"os"

	"golang.org/x/sys/windows"
)

// takesKeys reports whether a file is a terminal at which somebody types.
func takesKeys(file *os.File) bool {
	var mode uint32
	return windows.GetConsoleMode(windows.Handle(file.Fd()), &mode) == nil
}

// hide stops a console from showing what is typed, until show is called.
func hide(file *os.File) (show func(), err error) {
	console := windows.Handle(file.Fd())
	var before uint32
	if err := windows.GetConsoleMode(console, &before); err != nil {
		return nil, err
	}
	return func() { windows.SetConsoleMode(console, before) }, windows.SetConsoleMode(console, before&^windows.ENABLE_ECHO_INPUT)
}
