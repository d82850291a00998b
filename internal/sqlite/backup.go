package sqlite

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"

	"graftclock/internal/graft"
)

// walSuffix ends the name of the file in which SQLite keeps the latest changes of a
// ledger in use. A second file, which says where in there they are, needs no care:
// SQLite makes it anew.
const walSuffix = "-wal"

// stagedName is the pattern of files on their way to their place.
const stagedName = ".graftclock-*"

// Backup writes a copy of the ledger as it stands at one moment, without sessions and
// drafts; others may go on using it meanwhile. A file that is there already is a refusal of kind Conflict.
func (s *Store) Backup(path string) error {
	if _, err := os.Lstat(path); err == nil {
		return occupied(path)
	}
	path, err := filepath.Abs(path)
	if err != nil {
		return notCopied(path, err)
	}
	staged, err := stage(path, func(file *os.File) error {
		if _, err := s.db.Exec(`VACUUM INTO ?`, file.Name()); err != nil {
			return ofDisk(path, err)
		}
		return ofDisk(path, forgetSessions(file.Name()))
	})
	if err != nil {
		return notCopied(path, err)
	}
	defer os.Remove(staged)
	if err := place(staged, path); errors.Is(err, fs.ErrExist) {
		return occupied(path)
	} else if err != nil {
		return notCopied(path, err)
	}
	return syncFolder(path)
}

// notCopied tells an error of the copy that somebody asked for, not of the file that is
// written first beside it.
func notCopied(path string, err error) error {
	var disk *DiskError
	var file *fs.PathError
	switch {
	case errors.As(err, &disk):
		return disk
	case errors.As(err, &file):
		err = file.Err
	}
	return fmt.Errorf("copy the ledger to %s: %w", path, err)
}

func occupied(path string) error {
	return &graft.Refusal{Kind: graft.Conflict, Message: path + " is there already", Hint: "name another file"}
}

// stage writes a new file beside a path, for its owner only, and sees it onto the
// disk.
func stage(path string, write func(*os.File) error) (staged string, err error) {
	file, err := os.CreateTemp(filepath.Dir(path), stagedName)
	if err != nil {
		return "", err
	}
	defer func() {
		if err = errors.Join(err, file.Close()); err != nil {
			os.Remove(file.Name())
		}
	}()
	if err := write(file); err != nil {
		return "", err
	}
	return file.Name(), file.Sync()
}

// place gives a staged file its name; the error is fs.ErrExist if the name is
// taken.
func place(staged, path string) error {
	err := os.Link(staged, path)
	if err == nil || errors.Is(err, fs.ErrExist) {
		return err
	}
	if _, there := os.Lstat(path); there == nil { // a disk without links
		return fs.ErrExist
	}
	return os.Rename(staged, path)
}

// syncFolder sees the name of a file onto the disk.
func syncFolder(path string) error {
	if runtime.GOOS == "windows" {
		return nil // folders cannot be opened there
	}
	folder, err := os.Open(filepath.Dir(path))
	if err != nil {
		return err
	}
	return errors.Join(folder.Sync(), folder.Close())
}
