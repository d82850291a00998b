package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"

	"graftclock/internal/graft"
)

// Environment variables that hold passwords. A password is never a flag, which
// every program on the machine can see, and never in the clinic file.
const (
	envMailPassword     = "GRAFTCLOCK_MAIL_PASSWORD"
	envCalendarPassword = "GRAFTCLOCK_CALENDAR_PASSWORD"
)

// others is what a file's mode gives to everybody but its owner.
const others = fs.FileMode(0o077)

// secret returns a password from the environment or, without one there, from the
// first line of a file beside the clinic file that only its owner may read. Nobody
// named means that no password is asked for.
func secret(user, variable, clinic, file string) (string, error) {
	if user == "" {
		return "", nil
	}
	if given := os.Getenv(variable); given != "" {
		return given, nil
	}
	if file == "" {
		return "", &graft.Refusal{Kind: graft.Invalid, Message: "there is no password for " + user, Hint: "put it into $" + variable + " or into a file of your own, named under password_file"}
	}
	path := filepath.Join(filepath.Dir(clinic), file)
	if filepath.IsAbs(file) {
		path = file
	}
	info, err := os.Stat(path)
	if err != nil {
		return "", fmt.Errorf("read the password: %w", err)
	}
	if runtime.GOOS != "windows" && info.Mode()&others != 0 {
		return "", &graft.Refusal{Kind: graft.Invalid, Message: path + " can be read by others than its owner", Hint: "chmod 600 " + path}
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return "", fmt.Errorf("read the password: %w", err)
	}
	first, _, _ := strings.Cut(string(data), "\n")
	if first = strings.TrimSuffix(first, "\r"); first == "" {
		return "", errors.New("the first line of " + path + " is empty; it should be the password")
	}
	return first, nil
}
