-- The tables of the ledger. Instants are seconds since 1970 UTC, days are
-- YYYY-MM-DD or empty for no day, times of day are minutes after midnight.

CREATE TABLE cases (
  case_id          TEXT PRIMARY KEY CHECK (case_id <> ''),
  patient          TEXT NOT NULL,
  current_revision INTEGER NOT NULL CHECK (current_revision >= 1)
) STRICT;

CREATE TABLE revisions (
  case_id       TEXT NOT NULL REFERENCES cases,
  number        INTEGER NOT NULL,
  patient       TEXT NOT NULL,
  record        BLOB NOT NULL,
  timeline      BLOB NOT NULL,
  rules_version TEXT NOT NULL,
  source        TEXT NOT NULL,
  planned       TEXT NOT NULL,
  at            INTEGER NOT NULL,
  who           TEXT NOT NULL,
  why           TEXT NOT NULL,
  PRIMARY KEY (case_id, number)
) STRICT;

-- What names a revision may be written before it, in the same transaction: an
-- override comes before the revision that it makes.

CREATE TABLE visits (
  id         INTEGER PRIMARY KEY AUTOINCREMENT,
  case_id    TEXT NOT NULL REFERENCES cases,
  milestone  TEXT NOT NULL,
  state      TEXT NOT NULL CHECK (state IN ('window held', 'booked', 'attended', 'missed', 'moved', 'cancelled', 'superseded')),
  day        TEXT NOT NULL,
  start      INTEGER NOT NULL CHECK (start >= 0),
  minutes    INTEGER NOT NULL CHECK (minutes >= 0),
  room       TEXT NOT NULL,
  person     TEXT NOT NULL,
  not_before TEXT NOT NULL,
  earliest   TEXT NOT NULL,
  target     TEXT NOT NULL,
  latest     TEXT NOT NULL,
  revision   INTEGER NOT NULL,
  booked     INTEGER NOT NULL,
  at         INTEGER NOT NULL,
  who        TEXT NOT NULL,
  why        TEXT NOT NULL,
  CHECK (start + minutes <= 1440),
  CHECK (state <> 'booked' OR day <> ''),
  FOREIGN KEY (case_id, revision) REFERENCES revisions DEFERRABLE INITIALLY DEFERRED
) STRICT;

CREATE TABLE approvals (
  id       INTEGER PRIMARY KEY AUTOINCREMENT,
  case_id  TEXT NOT NULL REFERENCES cases,
  revision INTEGER NOT NULL,
  at       INTEGER NOT NULL,
  who      TEXT NOT NULL,
  FOREIGN KEY (case_id, revision) REFERENCES revisions DEFERRABLE INITIALLY DEFERRED
) STRICT;

CREATE TABLE overrides (
  id        INTEGER PRIMARY KEY AUTOINCREMENT,
  case_id   TEXT NOT NULL REFERENCES cases,
  milestone TEXT NOT NULL,
  revision  INTEGER NOT NULL,
  day       TEXT NOT NULL,
  given     TEXT NOT NULL,
  at        INTEGER NOT NULL,
  who       TEXT NOT NULL,
  why       TEXT NOT NULL,
  FOREIGN KEY (case_id, revision) REFERENCES revisions DEFERRABLE INITIALLY DEFERRED
) STRICT;

CREATE TABLE contacts (
  id        INTEGER PRIMARY KEY AUTOINCREMENT,
  case_id   TEXT NOT NULL REFERENCES cases,
  milestone TEXT NOT NULL,
  visit     INTEGER REFERENCES visits,
  outcome   TEXT NOT NULL CHECK (outcome IN ('confirmed', 'message left', 'no answer', 'declined')),
  at        INTEGER NOT NULL,
  who       TEXT NOT NULL,
  says      TEXT NOT NULL
) STRICT;

-- An entry may be about no case, or about one that was refused and never kept.

CREATE TABLE history (
  seq       INTEGER PRIMARY KEY AUTOINCREMENT,
  at        INTEGER NOT NULL,
  who       TEXT NOT NULL,
  role      TEXT NOT NULL,
  case_id   TEXT NOT NULL,
  milestone TEXT NOT NULL,
  what      TEXT NOT NULL,
  was       TEXT NOT NULL,
  now       TEXT NOT NULL,
  why       TEXT NOT NULL
) STRICT;
