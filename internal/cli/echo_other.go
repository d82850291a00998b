//go:build !linux && !darwin && !windows

package cli

import (
	"errors"
	"os"
)

// takesKeys finds no terminal where the program cannot hide what is typed.
func takesKeys(*os.File) bool { return false }

func hide(*os.File) (show func(), err error) { return nil, errors.ErrUnsupported }
