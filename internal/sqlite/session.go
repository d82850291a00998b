package sqlite

import (
	"database/sql"
	"errors"
	"time"
)

// Sessions keeps in the ledger who is signed in from a browser, over a restart of the
// program. What a session holds, it does not know. Its methods are those of a store
// of github.com/alexedwards/scs.
type Sessions struct {
	store *Store
	now   func() time.Time
}

// Sessions returns the sessions of the ledger by a clock of the caller's.
func (s *Store) Sessions(now func() time.Time) *Sessions { return &Sessions{s, now} }

// Find returns what a session holds; not found is also one that has run out.
func (s *Sessions) Find(token string) (b []byte, found bool, err error) {
	now := s.now()
	err = s.store.View(func(r *Reader) error {
		all, err := list(r, "the session", keyFields, oneSession, token, instant{&now})
		if found = len(all) > 0; found {
			b = all[0]
		}
		return err
	})
	return b, found, err
}

// Commit keeps what a session holds until a moment, and removes every session that
// has run out.
func (s *Sessions) Commit(token string, b []byte, expiry time.Time) error {
	now := s.now()
	return s.store.Act(func(w *Writer) error {
		if err := w.write("the sessions", endSessions, instant{&now}); err != nil {
			return err
		}
		return w.write("the session", keepSession, token, blob{&b}, instant{&expiry})
	})
}

// Delete removes a session, if there is one.
func (s *Sessions) Delete(token string) error {
	return s.store.Act(func(w *Writer) error { return w.write("the session", endSession, token) })
}

// forgetSessions takes out of a copy of the ledger who was signed in when it was made
// and what they were typing, so that nothing of it stays in the file.
func forgetSessions(path string) error {
	db, err := sql.Open("sqlite", dsn(path, forgetting))
	if err != nil {
		return err
	}
	_, err = db.Exec(forgetSigns)
	return errors.Join(err, db.Close())
}
