package sqlite

import (
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"time"
)

// Copy is what Check finds of a ledger that nobody has open, such as a backup.
type Copy struct {
	Version        int       // of its tables
	Cases, Entries int       // how many it keeps
	Latest         time.Time // of the latest entry; zero if there is none
	Faults         []string  // what is wrong with the file; empty: it is whole
}

// Check reads a copy of a ledger and changes nothing. A file that is no ledger, or
// is one of a newer program, is a refusal of kind Invalid, no file one of kind
// NotFound. A damaged ledger is no error: its faults are told.
func Check(path string) (Copy, error) {
	db, _, version, err := openCopy(path)
	if err != nil {
		return Copy{}, err
	}
	defer db.Close()
	return check(db, version)
}

// openCopy opens a copy of a ledger for reading, and returns how it is named to
// the driver.
func openCopy(path string) (db *sql.DB, source string, version int, err error) {
	if path, err = filepath.Abs(path); err != nil {
		return nil, "", 0, fmt.Errorf("look at %s: %w", path, err)
	}
	source = dsn(path, still)
	m, err := look(path, glancing)
	if _, changes := os.Stat(path + walSuffix); err == nil && changes == nil && (m.ledger() || m.empty()) {
		source = dsn(path, reading) // the latest acts are in there
		m, err = look(path, reading)
	}
	if err == nil {
		version, err = m.known(path)
	}
	if err == nil {
		db, err = sql.Open("sqlite", source)
	}
	return db, source, version, err
}

// known refuses what is no ledger, or one of a newer program.
func (m marks) known(path string) (version int, err error) {
	scripts, err := migrations()
	switch {
	case err != nil:
		return 0, err
	case !m.ledger():
		return 0, noLedger(path, "an empty file or another program's database")
	case m.version > len(scripts):
		return 0, newer(path, m.version, len(scripts))
	}
	return m.version, nil
}

func check(db *sql.DB, version int) (Copy, error) {
	c := Copy{Version: version}
	tx, err := db.Begin()
	if err != nil {
		return c, fmt.Errorf("read the copy: %w", err)
	}
	defer tx.Rollback()
	if c.Faults, err = faults(tx); err != nil || len(c.Faults) > 0 {
		return c, err
	}
	var latest sql.NullInt64
	err = tx.QueryRow(`SELECT (SELECT count(*) FROM cases), count(*), max(at) FROM history`).Scan(&c.Cases, &c.Entries, &latest)
	if err != nil {
		return c, fmt.Errorf("read the copy: %w", err)
	}
	if latest.Valid {
		c.Latest = time.Unix(latest.Int64, 0).UTC()
	}
	return c, nil
}

// Integrity goes through the whole ledger and returns what is wrong with it;
// nothing if it is whole.
func (s *Store) Integrity() (found []string, err error) {
	err = s.View(func(r *Reader) error {
		found, err = faults(r.tx)
		return err
	})
	return found, err
}

// faults asks SQLite for damage and for rows that name what is not there.
func faults(tx *sql.Tx) ([]string, error) {
	found, err := damage(tx)
	if err != nil {
		return unreadableParts(found, err)
	}
	rows, err := tx.Query(`PRAGMA foreign_key_check`)
	if err != nil {
		return unreadableParts(found, err)
	}
	defer rows.Close()
	for rows.Next() {
		var table, parent string
		var row, key sql.NullInt64
		if err := rows.Scan(&table, &row, &parent, &key); err != nil {
			return found, err
		}
		found = append(found, fmt.Sprintf("row %d of %s names a row of %s that is not there", row.Int64, table, parent))
	}
	return unreadableParts(found, rows.Err())
}

func damage(tx *sql.Tx) (found []string, err error) {
	rows, err := tx.Query(`PRAGMA integrity_check`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var line string
		if err := rows.Scan(&line); err != nil {
			return found, err
		}
		if line != "ok" {
			found = append(found, line)
		}
	}
	return found, rows.Err()
}

// unreadableParts adds to the faults that the check itself broke off on damage.
func unreadableParts(found []string, err error) ([]string, error) {
	if damaged(err) {
		return append(found, err.Error()), nil
	}
	return found, err
}
