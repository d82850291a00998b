//go:build unix

package cli

import (
	"errors"
	"os"
	"syscall"
)

// lockFolder waits until no other process replaces a file of a folder, and keeps others
// waiting until it is unlocked or the process ends. Where the disk knows no locks, the
// ledger alone parts those who change the clinic file.
func lockFolder(folder string) (unlock func(), err error) {
	open, err := os.Open(folder)
	if err != nil {
		return nil, err
	}
	for {
		err = syscall.Flock(int(open.Fd()), syscall.LOCK_EX)
		if !errors.Is(err, syscall.EINTR) {
			return func() { open.Close() }, nil
		}
	}
}

// syncFolder brings the names of a folder's files to the disk.
func syncFolder(folder string) error {
	open, err := os.Open(folder)
	if err != nil {
		return err
	}
	return errors.Join(ignored(open.Sync()), open.Close())
}

// ignored is no error where a disk cannot bring names to the disk apart.
func ignored(err error) error {
	if errors.Is(err, syscall.EINVAL) || errors.Is(err, syscall.ENOTSUP) {
		return nil
	}
	return err
}
