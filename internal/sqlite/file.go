package sqlite

import (
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"sync"

	driver "modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"graftclock/internal/graft"
)

// applicationID marks the file as a ledger of graftclock, in the field that the
// SQLite file format has for that: "GrCl".
const applicationID = 0x4772436c

// ownerOnly is the mode of the ledger. SQLite gives it to the files that it puts
// beside the ledger, too.
const ownerOnly = 0o600

// making is held while this process makes a file: to close a file takes away every
// lock that the process has on it, so nobody may have it open yet.
var making sync.Mutex

// create makes an empty file where none is.
func create(path string) error {
	making.Lock()
	defer making.Unlock()
	if _, err := os.Stat(path); !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	file, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, ownerOnly)
	if err != nil {
		return err
	}
	return file.Close()
}

// marks are what tells a ledger from another database.
type marks struct {
	application, version int
	tables               int // and everything else that the database holds
}

func (m marks) ledger() bool { return m.application == applicationID && m.version > 0 }

// empty reports a database of nobody, such as a file without a byte.
func (m marks) empty() bool { return m.application == 0 && m.version == 0 && m.tables == 0 }

// mayOpen refuses what this program must not write to.
func mayOpen(path string, known int) error {
	m, err := look(path, glancing)
	switch {
	case err != nil:
		return err
	case !m.ledger() && !m.empty():
		return noLedger(path, "another program's database")
	case m.version > known:
		return newer(path, m.version, known)
	}
	return nil
}

// look reads the marks of a file. With the settings glancing it touches neither
// the file nor anything beside it.
func look(path, settings string) (marks, error) {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return marks{}, &graft.Refusal{Kind: graft.NotFound, Message: "there is no file " + path}
	case err != nil:
		return marks{}, fmt.Errorf("look at the ledger: %w", err)
	case info.Size() == 1:
		return marks{}, noLedger(path, notSQLite) // SQLite takes it for an empty one
	}
	db, err := sql.Open("sqlite", dsn(path, settings))
	if err != nil {
		return marks{}, fmt.Errorf("look at %s: %w", path, err)
	}
	defer db.Close()
	m, err := marksIn(db)
	switch code(err) & primary {
	case sqlite3.SQLITE_NOTADB:
		return m, noLedger(path, notSQLite)
	case sqlite3.SQLITE_CORRUPT:
		return m, noLedger(path, "a damaged database")
	}
	if err != nil {
		return m, fmt.Errorf("read %s: %w", path, err)
	}
	return m, nil
}

// marksIn reads all marks at one moment.
func marksIn(db *sql.DB) (marks, error) {
	tx, err := db.Begin()
	if err != nil {
		return marks{}, err
	}
	defer tx.Rollback()
	return marksOf(tx)
}

func marksOf(tx *sql.Tx) (m marks, err error) {
	if err := tx.QueryRow(`PRAGMA application_id`).Scan(&m.application); err != nil {
		return m, err
	}
	if err := tx.QueryRow(`PRAGMA user_version`).Scan(&m.version); err != nil {
		return m, err
	}
	if m.application == 0 {
		err = tx.QueryRow(`SELECT count(*) FROM sqlite_schema`).Scan(&m.tables)
	}
	return m, err
}

const notSQLite = "no database of SQLite"

func noLedger(path, what string) error {
	return &graft.Refusal{
		Kind:    graft.Invalid,
		Message: fmt.Sprintf("%s is no ledger of graftclock: it is %s", path, what),
		Hint:    "name another file; this one is left as it is",
	}
}

// primary are the bits of a result code that tell what kind it is.
const primary = 0xff

// code returns SQLite's result code of an error; 0 for any other error.
func code(err error) int {
	var e *driver.Error
	if errors.As(err, &e) {
		return e.Code()
	}
	return 0
}

// damaged reports that a file's content is what SQLite cannot read.
func damaged(err error) bool {
	c := code(err) & primary
	return c == sqlite3.SQLITE_CORRUPT || c == sqlite3.SQLITE_NOTADB
}

// understood turns what SQLite says of a ledger in use into a refusal, where
// somebody can do something about it, or into an error of its disk.
func understood(path string, err error) error {
	switch {
	case code(err)&primary == sqlite3.SQLITE_BUSY:
		return &graft.Refusal{Kind: graft.Conflict, Message: "the ledger is busy: another desk has kept it for ten seconds", Hint: "try again"}
	case damaged(err):
		return &graft.Refusal{Kind: graft.Invalid, Message: "the ledger is damaged: " + err.Error(), Hint: "restore a copy"}
	}
	return ofDisk(path, err)
}
