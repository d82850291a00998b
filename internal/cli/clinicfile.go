package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"graftclock/internal/graft"
)

// clinicFiles are the clinic file and what lies beside it, for the desk to read and to
// change.
type clinicFiles struct {
	folder, clinic string
	rules          string // the path of --protocol; empty: the clinic file names one, or none
}

// clinicFilesAt are the files of the clinic file at a path.
func clinicFilesAt(path, rules string) clinicFiles {
	return clinicFiles{filepath.Dir(path), filepath.Base(path), rules}
}

// ClinicName names the clinic file.
func (f clinicFiles) ClinicName() string { return f.clinic }

// RulesName names the file of --protocol.
func (f clinicFiles) RulesName() string { return f.rules }

// path is where a file lies: beside the clinic file, but for that of --protocol.
func (f clinicFiles) path(name string) (string, error) {
	switch {
	case name == f.rules && name != "":
		return name, nil
	case !filepath.IsLocal(name):
		return "", fmt.Errorf("%q lies outside the clinic file's folder", name)
	}
	return filepath.Join(f.folder, name), nil
}

// Read returns what a file says.
func (f clinicFiles) Read(name string) ([]byte, error) {
	path, err := f.path(name)
	if err != nil {
		return nil, err
	}
	return os.ReadFile(path)
}

// Replace puts a text in the place of another one: written beside it, brought to the
// disk and renamed, so that a process killed at any moment leaves the one or the other
// whole. Others who replace a file of the same folder wait; one that was changed
// meanwhile is left alone. A link stays one.
func (f clinicFiles) Replace(name string, was, now []byte) error {
	path, err := f.path(name)
	if err != nil {
		return err
	}
	if target, err := filepath.EvalSymlinks(path); err == nil {
		path = target
	}
	unlock, err := lockFolder(filepath.Dir(path))
	if err != nil {
		return notWritten(path, err)
	}
	defer unlock()
	switch is, err := os.ReadFile(path); {
	case errors.Is(err, fs.ErrNotExist) && was == nil:
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("look at what is there: %w", err)
	case err != nil || was == nil || !bytes.Equal(is, was):
		return &graft.Refusal{Kind: graft.Conflict, Message: name + " was changed meanwhile", Hint: "look at it again and decide anew"}
	}
	if now == nil {
		return os.Remove(path)
	}
	return putInPlace(path, now)
}

// putInPlace writes a file whole, with the mode of the one in whose place it comes; a
// new one is for its owner's eyes only.
func putInPlace(path string, data []byte) (err error) {
	folder, mode := filepath.Dir(path), fs.FileMode(fileMode)
	if info, err := os.Stat(path); err == nil {
		mode = info.Mode().Perm()
	}
	sweep(folder)
	staged, err := os.MkdirTemp(folder, stagedName)
	if err != nil {
		return notWritten(path, err)
	}
	defer os.RemoveAll(staged)
	made := filepath.Join(staged, filepath.Base(path))
	if err := writeWhole(made, data, true); err != nil {
		return notWritten(path, err)
	}
	if err := os.Chmod(made, mode); err != nil {
		return notWritten(path, err)
	}
	if err := os.Rename(made, path); err != nil {
		return notWritten(path, err)
	}
	return syncFolder(folder)
}
