// Package sqlite keeps the ledger of one clinic in one SQLite file, for any number
// of processes at once. It writes what it is given, whole or not at all, and
// guards against double booking; who may do what, and why, it does not know.
package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	sqlite3 "modernc.org/sqlite/lib"

	"graftclock/internal/graft"
)

// Store is an open ledger. It may be used from several goroutines.
type Store struct {
	path string
	db   *sql.DB
	want int // the version of the tables
}

// Open opens the ledger at a path, which it makes, for its owner's eyes only, if
// nothing is there, and brings an older one up to date. A file that is no ledger,
// or is one of a newer program, is a refusal of kind Invalid and stays untouched.
func Open(path string) (*Store, error) {
	scripts, err := migrations()
	if err != nil {
		return nil, err
	}
	return openAt(path, scripts)
}

// keptOpen is how many connections are kept for the next who looks: opening one takes
// longer than most looks.
const keptOpen = 16

// openAt opens a ledger for a program that knows the given migrations.
func openAt(path string, scripts []string) (*Store, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, fmt.Errorf("open the ledger %s: %w", path, err)
	}
	if err := create(path); err != nil {
		return nil, fmt.Errorf("open the ledger: %w", err)
	}
	if err := mayOpen(path, len(scripts)); err != nil {
		return nil, err
	}
	first, err := share(path)
	if err != nil {
		return nil, understood(path, fmt.Errorf("open the ledger %s: %w", path, err))
	}
	defer first.Close()
	db, err := sql.Open("sqlite", dsn(path, shared))
	if err != nil {
		return nil, fmt.Errorf("open the ledger %s: %w", path, err)
	}
	db.SetMaxIdleConns(keptOpen)
	if err := migrate(db, path, scripts); err != nil {
		db.Close()
		return nil, understood(path, err)
	}
	return &Store{path, db, len(scripts)}, nil
}

// share brings a ledger into the mode in which readers and a writer go side by
// side, and returns a connection that keeps it there. SQLite does not wait for
// others who do the same, so this does, for about as long as an act would.
func share(path string) (*sql.DB, error) {
	const tries, pause = 100, 20 * time.Millisecond
	db, err := sql.Open("sqlite", dsn(path, entering))
	if err != nil {
		return nil, err
	}
	for range tries {
		if err = db.Ping(); code(err)&primary != sqlite3.SQLITE_BUSY {
			break
		}
		time.Sleep(pause)
	}
	if err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return db, nil
}

// Close ends the use of the ledger. The last one to close it leaves one file.
func (s *Store) Close() error { return s.db.Close() }

// Settings of a connection. Shared is that of a ledger in use: a change waits for
// others from its beginning, so that nothing it has read can grow stale, and is on
// the disk before it counts as done.
const (
	entering = "_pragma=busy_timeout(100)&_pragma=journal_mode(WAL)"
	shared   = "_txlock=immediate&_pragma=busy_timeout(10000)&_pragma=journal_mode(WAL)&_pragma=synchronous(FULL)&_pragma=foreign_keys(1)"
	alone    = "_txlock=exclusive&_pragma=busy_timeout(200)"
	reading  = "mode=ro&_pragma=busy_timeout(10000)"
	still    = "mode=ro&immutable=1" // main file only; takes no lock, leaves no file
	// of a copy on its way to its place: what is removed from it leaves no trace in the file
	forgetting = "_pragma=journal_mode(OFF)&_pragma=secure_delete(1)"
	glancing   = still + "&_pragma=writable_schema(1)" // and puts up with a file that is growing, or cut short
)

// dsn names a database for the driver, which takes an absolute path as a URI.
func dsn(path, settings string) string {
	path = filepath.ToSlash(path)
	if !strings.HasPrefix(path, "/") {
		path = "/" + path // a drive letter
	}
	return "file:" + escape.Replace(path) + "?" + settings
}

var escape = strings.NewReplacer("%", "%25", "?", "%3f", "#", "%23")

// View shows the ledger as it stands at one moment. It never waits for those who
// change it.
func (s *Store) View(look func(*Reader) error) error {
	return s.within(&sql.TxOptions{ReadOnly: true}, func(tx *sql.Tx) error {
		return look(&Reader{tx})
	})
}

// Act changes the ledger: all of what do writes, or, when do returns an error or
// panics, none of it. Only one acts at a time; who waits longer than ten seconds
// for their turn gets a refusal of kind Conflict.
func (s *Store) Act(do func(*Writer) error) error {
	return s.within(nil, func(tx *sql.Tx) error {
		if err := do(&Writer{Reader{tx}}); err != nil {
			return err
		}
		if err := tx.Commit(); err != nil {
			return fmt.Errorf("write the ledger: %w", err)
		}
		return nil
	})
}

// within runs something inside a transaction, and takes the transaction back
// unless it was committed there.
func (s *Store) within(options *sql.TxOptions, run func(*sql.Tx) error) error {
	tx, err := s.db.BeginTx(context.Background(), options)
	if err != nil {
		return understood(s.path, fmt.Errorf("open the ledger %s: %w", s.path, err))
	}
	defer tx.Rollback()
	if err := s.current(tx); err != nil {
		return err
	}
	return understood(s.path, run(tx))
}

// current refuses a ledger that a newer program has brought up to date since it
// was opened.
func (s *Store) current(tx *sql.Tx) error {
	var version int
	if err := tx.QueryRow(`PRAGMA user_version`).Scan(&version); err != nil {
		return understood(s.path, fmt.Errorf("read the ledger %s: %w", s.path, err))
	}
	if version != s.want {
		return newer(s.path, version, s.want)
	}
	return nil
}

func newer(path string, version, known int) error {
	return &graft.Refusal{
		Kind:    graft.Invalid,
		Message: fmt.Sprintf("%s was written by a newer graftclock: its tables are version %d, this program knows %d", path, version, known),
		Hint:    "use the newer program",
	}
}
