-- The tables of what was given out: events of calendar files, messages, feeds and
-- the shared calendar. Events are JSON in the writer's own bytes.

CREATE TABLE issues (
  id        INTEGER PRIMARY KEY AUTOINCREMENT,
  case_id   TEXT NOT NULL REFERENCES cases,
  milestone TEXT NOT NULL,
  audience  TEXT NOT NULL CHECK (audience <> ''),
  revision  INTEGER NOT NULL,
  sequence  INTEGER NOT NULL CHECK (sequence >= 0),
  at        INTEGER NOT NULL,
  cancelled INTEGER NOT NULL CHECK (cancelled IN (0, 1)),
  event     BLOB NOT NULL,
  FOREIGN KEY (case_id, revision) REFERENCES revisions DEFERRABLE INITIALLY DEFERRED
) STRICT;

CREATE TABLE invitations (
  id         INTEGER PRIMARY KEY AUTOINCREMENT,
  case_id    TEXT NOT NULL REFERENCES cases,
  milestone  TEXT NOT NULL,
  revision   INTEGER NOT NULL,
  method     TEXT NOT NULL CHECK (method IN ('request', 'cancel')),
  sequence   INTEGER NOT NULL CHECK (sequence >= 0),
  recipient  TEXT NOT NULL,
  message_id TEXT NOT NULL,
  event      BLOB NOT NULL,
  state      TEXT NOT NULL CHECK (state IN ('under way', 'sent', 'written', 'failed')),
  at         INTEGER NOT NULL,
  who        TEXT NOT NULL,
  says       TEXT NOT NULL,
  FOREIGN KEY (case_id, revision) REFERENCES revisions DEFERRABLE INITIALLY DEFERRED
) STRICT;

-- A feed without an end stands. Its token is never used again.

CREATE TABLE feeds (
  id         INTEGER PRIMARY KEY AUTOINCREMENT,
  case_id    TEXT NOT NULL REFERENCES cases,
  token      TEXT NOT NULL UNIQUE CHECK (token <> ''),
  folder     TEXT NOT NULL,
  at         INTEGER NOT NULL,
  who        TEXT NOT NULL,
  revoked    INTEGER,
  revoked_by TEXT,
  CHECK ((revoked IS NULL) = (revoked_by IS NULL))
) STRICT;

CREATE TABLE shelved (
  id        INTEGER PRIMARY KEY AUTOINCREMENT,
  calendar  TEXT NOT NULL CHECK (calendar <> ''),
  case_id   TEXT NOT NULL REFERENCES cases,
  milestone TEXT NOT NULL,
  path      TEXT NOT NULL,
  etag      TEXT NOT NULL,
  event     BLOB NOT NULL,
  state     TEXT NOT NULL CHECK (state IN ('as put', 'changed there', 'gone there', 'taken down')),
  at        INTEGER NOT NULL
) STRICT;

CREATE TABLE sync_tokens (
  calendar TEXT PRIMARY KEY CHECK (calendar <> ''),
  token    TEXT NOT NULL
) STRICT;

-- Secrets of the ledger, made by the program that brings this table. Rows have no
-- number, for one could be replaced by it.

CREATE TABLE keys (
  name  TEXT PRIMARY KEY CHECK (name <> ''),
  value BLOB NOT NULL CHECK (length(value) = 32)
) STRICT, WITHOUT ROWID;
