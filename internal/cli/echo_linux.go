package cli

import "golang.org/x/sys/unix"

const readTerminal, setTerminal = unix.TCGETS, unix.TCSETS
