package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	driver "modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"graftclock/internal/graft"
)

// Restore puts what a copy keeps into the ledger's place, whole or not at all. The
// ledger that was there is kept beside it, and its name returned; empty if there
// was none. A copy that is damaged, no ledger or of a newer program is a refusal of
// kind Invalid, and a ledger that anybody has open, this process too, one of kind
// Conflict.
//
// The file stays the same and SQLite rewrites it: a desk that opens it meanwhile
// waits, and would go on with the file that was replaced if another took its name.
// Only a file that is damaged beyond that gives its name away.
func Restore(from, to string) (before string, err error) {
	source, err := restorable(from)
	if err != nil {
		return "", err
	}
	if to, err = replaceable(to); err != nil {
		return "", err
	}
	if sameFile(from, to) {
		return "", &graft.Refusal{Kind: graft.Invalid, Message: from + " is the ledger itself", Hint: "name a copy"}
	}
	h, err := seize(to)
	if damaged(err) {
		if before, err = setAside(to); err == nil {
			h, err = seize(to)
		}
	}
	if err != nil {
		return before, inUse(to, err)
	}
	defer h.release()
	if before == "" {
		if before, err = h.keep(); err != nil {
			return "", fmt.Errorf("keep the ledger that was there: %w", err)
		}
	}
	if err := h.fill(source); err != nil {
		return before, fmt.Errorf("restore the ledger: %w", ofDisk(to, err))
	}
	return before, nil
}

func sameFile(from, to string) bool {
	a, err := os.Stat(from)
	b, err2 := os.Stat(to)
	return err == nil && err2 == nil && os.SameFile(a, b)
}

// restorable names a copy that is whole to the driver.
func restorable(path string) (source string, err error) {
	db, source, version, err := openCopy(path)
	if err != nil {
		return "", err
	}
	defer db.Close()
	c, err := check(db, version)
	if err != nil {
		return "", err
	}
	if len(c.Faults) > 0 {
		return "", &graft.Refusal{Kind: graft.Invalid, Message: fmt.Sprintf("%s is damaged: %s", path, c.Faults[0]), Hint: "restore another copy"}
	}
	return source, nil
}

// replaceable returns the file that a path leads to, which need not be there yet,
// and refuses what is no ledger. Changes that a lost ledger has left go aside:
// SQLite would take them for changes of the new one.
func replaceable(path string) (string, error) {
	if target, err := filepath.EvalSymlinks(path); err == nil {
		path = target
	}
	path, err := filepath.Abs(path)
	if err != nil {
		return "", fmt.Errorf("restore the ledger: %w", err)
	}
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		_, err := setAside(path)
		return path, err
	}
	m, err := look(path, glancing)
	if err == nil && !m.ledger() && !m.empty() {
		err = noLedger(path, "another program's database")
	}
	return path, err
}

// inUse turns the lock of another into a refusal.
func inUse(path string, err error) error {
	if code(err)&primary == sqlite3.SQLITE_BUSY {
		return &graft.Refusal{Kind: graft.Conflict, Message: "the ledger " + path + " is in use", Hint: "close every graftclock that has it open"}
	}
	var disk *DiskError
	if err = ofDisk(path, err); errors.As(err, &disk) {
		return err
	}
	return fmt.Errorf("restore the ledger %s: %w", path, err)
}

// held is a ledger that everybody else is kept out of.
type held struct {
	path string
	db   *sql.DB
	conn *sql.Conn
	file *os.File // nil until keep opens it
}

// seize folds a ledger into its one file and keeps everybody else out of it, even
// those who have it open and do nothing. It makes an empty one where none is.
func seize(path string) (*held, error) {
	if err := create(path); err != nil {
		return nil, err
	}
	db, err := sql.Open("sqlite", dsn(path, alone))
	if err != nil {
		return nil, err
	}
	conn, err := db.Conn(context.Background())
	if err != nil {
		return nil, errors.Join(err, db.Close())
	}
	h := &held{path: path, db: db, conn: conn}
	// A lock stays from the first transaction to the end of the connection.
	if err := h.run(`PRAGMA locking_mode = EXCLUSIVE; BEGIN EXCLUSIVE; COMMIT; PRAGMA journal_mode = DELETE`); err != nil {
		h.release()
		return nil, err
	}
	return h, nil
}

func (h *held) run(statements string) error {
	_, err := h.conn.ExecContext(context.Background(), statements)
	return err
}

// release lets others in. The file that was read is closed last: to close it takes
// every lock from this process.
func (h *held) release() {
	h.conn.Close()
	h.db.Close()
	if h.file != nil {
		h.file.Close()
	}
}

// keep copies the ledger as it is to a name that nothing has, and returns that;
// empty if the ledger is.
func (h *held) keep() (before string, err error) {
	var tables int
	err = h.conn.QueryRowContext(context.Background(), `SELECT count(*) FROM sqlite_schema`).Scan(&tables)
	if err == nil && tables == 0 {
		return "", nil
	}
	if h.file, err = os.Open(h.path); err != nil {
		return "", err
	}
	staged, err := stage(h.path, func(copied *os.File) error {
		_, err := io.Copy(copied, h.file)
		return err
	})
	if err != nil {
		return "", err
	}
	defer os.Remove(staged)
	for err = fs.ErrExist; errors.Is(err, fs.ErrExist); {
		if before, err = unusedName(h.path); err == nil {
			err = place(staged, before)
		}
	}
	return before, errors.Join(err, syncFolder(before))
}

// fill writes all of a copy in one transaction.
func (h *held) fill(source string) error {
	return h.conn.Raw(func(conn any) error {
		restorer, ok := conn.(interface {
			NewRestore(source string) (*driver.Backup, error)
		})
		if !ok {
			return errors.New("the driver cannot restore")
		}
		pages, err := restorer.NewRestore(source)
		if err != nil {
			return err
		}
		const all = -1
		_, err = pages.Step(all)
		return errors.Join(err, pages.Finish())
	})
}

// setAside renames what is left of a damaged or lost ledger, and returns the new
// name of the ledger itself; empty if it is not there.
func setAside(path string) (string, error) {
	before, err := unusedName(path)
	if err != nil {
		return "", err
	}
	if err := os.Rename(path+walSuffix, before+walSuffix); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return "", err
	}
	err = os.Rename(path, before)
	if errors.Is(err, fs.ErrNotExist) {
		return "", nil
	}
	return before, err
}

// unusedName returns the first name for a replaced ledger that nothing has.
func unusedName(path string) (string, error) {
	for n := 1; ; n++ {
		before := fmt.Sprintf("%s.before-%d", path, n)
		_, file := os.Lstat(before)
		_, changes := os.Lstat(before + walSuffix)
		switch {
		case errors.Is(file, fs.ErrNotExist) && errors.Is(changes, fs.ErrNotExist):
			return before, nil
		case file != nil && !errors.Is(file, fs.ErrNotExist):
			return "", file
		}
	}
}
