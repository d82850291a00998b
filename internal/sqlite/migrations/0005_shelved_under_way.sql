-- A visit may be under way to a shared calendar: what is about to be written there is
-- kept before it leaves. A check cannot be changed, so the table is made anew with all
-- its rows, their numbers, index and guards; nothing refers to it. Dropping it asks no
-- trigger.

CREATE TABLE shelved_anew (
  id        INTEGER PRIMARY KEY AUTOINCREMENT,
  calendar  TEXT NOT NULL CHECK (calendar <> ''),
  case_id   TEXT NOT NULL REFERENCES cases,
  milestone TEXT NOT NULL,
  path      TEXT NOT NULL,
  etag      TEXT NOT NULL,
  event     BLOB NOT NULL,
  state     TEXT NOT NULL CHECK (state IN ('as put', 'changed there', 'gone there', 'taken down', 'under way')),
  at        INTEGER NOT NULL
) STRICT;

INSERT INTO shelved_anew (id, calendar, case_id, milestone, path, etag, event, state, at)
  SELECT id, calendar, case_id, milestone, path, etag, event, state, at FROM shelved ORDER BY id;
DROP TABLE shelved;
ALTER TABLE shelved_anew RENAME TO shelved;

CREATE INDEX shelved_in_calendar ON shelved (calendar, case_id, milestone);

CREATE TRIGGER shelved_no_update BEFORE UPDATE ON shelved
BEGIN SELECT RAISE(ABORT, 'what stood in a shared calendar is never changed'); END;
CREATE TRIGGER shelved_no_delete BEFORE DELETE ON shelved
BEGIN SELECT RAISE(ABORT, 'what stood in a shared calendar is never removed'); END;
CREATE TRIGGER shelved_no_replace BEFORE INSERT ON shelved
WHEN EXISTS (SELECT 1 FROM shelved WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'what stood in a shared calendar is never changed'); END;
