package sqlite

import (
	"errors"

	driver "modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// DiskError is a disk that is full, or that cannot be read or written. Of a full one
// SQLite says the latter as well, where it cannot make the files that it puts beside the
// ledger. Nothing was changed.
type DiskError struct {
	Path  string // of the ledger, or of the copy that was to be made
	cause *driver.Error
}

// Error names the file whose disk it is, and the cause.
func (e *DiskError) Error() string {
	if e.cause.Code()&primary == sqlite3.SQLITE_FULL {
		return "the disk of " + e.Path + " is full"
	}
	return "the disk of " + e.Path + " is full, or cannot be read or written: " + e.cause.Error()
}

// Unwrap returns what SQLite says.
func (e *DiskError) Unwrap() error { return e.cause }

// ofDisk turns what SQLite says of the disk on which a file lies into a DiskError, and
// leaves any other error as it is.
func ofDisk(path string, err error) error {
	var cause *driver.Error
	if !errors.As(err, &cause) {
		return err
	}
	if c := cause.Code() & primary; c != sqlite3.SQLITE_FULL && c != sqlite3.SQLITE_IOERR {
		return err
	}
	return &DiskError{path, cause}
}
