package sqlite

import (
	"crypto/rand"
	"database/sql"
	"embed"
	"fmt"
	"io/fs"
)

//go:embed migrations/*.sql
var scriptFiles embed.FS

// migrations returns the scripts that make a ledger, in order; the version of a
// ledger is how many of them it has seen.
func migrations() ([]string, error) {
	names, err := fs.Glob(scriptFiles, "migrations/*.sql") // sorted
	if err != nil {
		return nil, err
	}
	var scripts []string
	for _, name := range names {
		script, err := scriptFiles.ReadFile(name)
		if err != nil {
			return nil, err
		}
		scripts = append(scripts, string(script))
	}
	return scripts, nil
}

// migrate brings a ledger up to date, all or nothing. Of several that open a
// ledger at once the first does it, and the others wait and find it done.
func migrate(db *sql.DB, path string, scripts []string) error {
	var version int
	if err := db.QueryRow(`PRAGMA user_version`).Scan(&version); err != nil {
		return fmt.Errorf("open the ledger %s: %w", path, err)
	}
	if version == len(scripts) {
		return nil
	}
	tx, err := db.Begin()
	if err != nil {
		return fmt.Errorf("bring the ledger %s up to date: %w", path, err)
	}
	defer tx.Rollback()
	m, err := marksOf(tx)
	switch {
	case err != nil:
		return fmt.Errorf("open the ledger %s: %w", path, err)
	case !m.ledger() && !m.empty():
		return noLedger(path, "another program's database")
	case m.version > len(scripts):
		return newer(path, m.version, len(scripts))
	}
	if err := run(tx, scripts[m.version:], len(scripts)); err != nil {
		return fmt.Errorf("bring the ledger %s up to date: %w", path, err)
	}
	return nil
}

// keyed is the first version that has a table of keys.
const keyed = 3

// keyBytes is how long a key is.
const keyBytes = 32

// run runs scripts and marks the ledger with the version that they lead to. The
// calendar key comes with its table, so that no ledger is ever seen without one.
func run(tx *sql.Tx, scripts []string, version int) error {
	for _, script := range scripts {
		if _, err := tx.Exec(script); err != nil {
			return err
		}
	}
	if version >= keyed {
		key := make([]byte, keyBytes)
		rand.Read(key) // never fails
		if _, err := tx.Exec(keepKey, key); err != nil {
			return err
		}
	}
	if _, err := tx.Exec(fmt.Sprintf(`PRAGMA application_id = %d; PRAGMA user_version = %d`, applicationID, version)); err != nil {
		return err
	}
	return tx.Commit()
}
