-- What the ledger keeps so that people can sign in from a browser: who may, who is,
-- what somebody is typing, and feeds that the program serves by itself.

-- A sign-in of a person of the clinic file. One that has ended keeps no hash.

CREATE TABLE accounts (
  name    TEXT PRIMARY KEY CHECK (name <> ''),
  hash    TEXT NOT NULL,
  version INTEGER NOT NULL CHECK (version >= 1),
  at      INTEGER NOT NULL,
  who     TEXT NOT NULL,
  ended   INTEGER,
  CHECK ((ended IS NULL) = (hash <> ''))
) STRICT;

CREATE TRIGGER accounts_keep_name BEFORE UPDATE ON accounts
WHEN NEW.name <> OLD.name OR NEW.version < OLD.version
BEGIN SELECT RAISE(ABORT, 'a sign-in keeps its name, and its version never falls'); END;
CREATE TRIGGER accounts_no_delete BEFORE DELETE ON accounts
BEGIN SELECT RAISE(ABORT, 'sign-ins are never removed'); END;
CREATE TRIGGER accounts_no_replace BEFORE INSERT ON accounts
WHEN EXISTS (SELECT 1 FROM accounts WHERE name = NEW.name AND version > NEW.version)
BEGIN SELECT RAISE(ABORT, 'a sign-in keeps its name, and its version never falls'); END;

-- Drafts and sessions come and go; copies of the ledger have none.

CREATE TABLE drafts (
  who    TEXT NOT NULL CHECK (who <> ''),
  form   TEXT NOT NULL CHECK (form <> ''),
  fields BLOB NOT NULL,
  at     INTEGER NOT NULL,
  PRIMARY KEY (who, form)
) STRICT;
CREATE INDEX drafts_by_age ON drafts (at);

CREATE TABLE sessions (
  token TEXT PRIMARY KEY CHECK (token <> ''),
  data  BLOB NOT NULL,
  until INTEGER NOT NULL
) STRICT;
CREATE INDEX sessions_by_end ON sessions (until);

-- The tokens of feeds that the program serves. A token is looked for by its SHA-256,
-- so that how long that takes tells nothing of it.

CREATE TABLE served (
  hash  BLOB PRIMARY KEY CHECK (length(hash) = 32),
  token TEXT NOT NULL UNIQUE CHECK (token <> '')
) STRICT, WITHOUT ROWID;

CREATE TRIGGER served_no_update BEFORE UPDATE ON served
BEGIN SELECT RAISE(ABORT, 'tokens are never changed'); END;
CREATE TRIGGER served_no_delete BEFORE DELETE ON served
BEGIN SELECT RAISE(ABORT, 'tokens are never removed'); END;
CREATE TRIGGER served_no_replace BEFORE INSERT ON served
WHEN EXISTS (SELECT 1 FROM served WHERE hash = NEW.hash OR token = NEW.token)
BEGIN SELECT RAISE(ABORT, 'another feed has that token'); END;

-- A feed of the desk: of one person's visits or, with nobody named, of all.

CREATE TABLE desk_feeds (
  id         INTEGER PRIMARY KEY AUTOINCREMENT,
  person     TEXT NOT NULL,
  token      TEXT NOT NULL UNIQUE REFERENCES served (token),
  at         INTEGER NOT NULL,
  who        TEXT NOT NULL,
  revoked    INTEGER,
  revoked_by TEXT,
  CHECK ((revoked IS NULL) = (revoked_by IS NULL))
) STRICT;
CREATE UNIQUE INDEX desk_feeds_standing ON desk_feeds (person) WHERE revoked IS NULL;

CREATE TRIGGER desk_feeds_begin BEFORE INSERT ON desk_feeds
WHEN NEW.revoked IS NOT NULL
BEGIN SELECT RAISE(ABORT, 'a feed begins standing'); END;
CREATE TRIGGER desk_feeds_end_once BEFORE UPDATE ON desk_feeds
WHEN OLD.revoked IS NOT NULL OR NEW.revoked IS NULL
BEGIN SELECT RAISE(ABORT, 'a feed is revoked once'); END;
CREATE TRIGGER desk_feeds_keep_place BEFORE UPDATE ON desk_feeds
WHEN (NEW.id, NEW.person, NEW.token, NEW.at, NEW.who) <> (OLD.id, OLD.person, OLD.token, OLD.at, OLD.who)
BEGIN SELECT RAISE(ABORT, 'the place of a feed never changes'); END;
CREATE TRIGGER desk_feeds_no_delete BEFORE DELETE ON desk_feeds
BEGIN SELECT RAISE(ABORT, 'feeds are never removed'); END;
CREATE TRIGGER desk_feeds_no_replace BEFORE INSERT ON desk_feeds
WHEN EXISTS (SELECT 1 FROM desk_feeds WHERE id = NEW.id OR token = NEW.token OR person = NEW.person AND revoked IS NULL)
BEGIN SELECT RAISE(ABORT, 'another feed has that person or token'); END;
