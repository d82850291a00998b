-- Guards on what was given out, and the indexes behind them. An insert over a row
-- that is there would remove it without asking the triggers on removal, also where
-- the two meet in a unique index, so all of that is refused.

CREATE INDEX issues_of_event ON issues (case_id, milestone, audience);
CREATE INDEX invitations_of_case ON invitations (case_id);
CREATE UNIQUE INDEX invitations_under_way ON invitations (case_id, milestone) WHERE state = 'under way';
CREATE UNIQUE INDEX feeds_standing ON feeds (case_id) WHERE revoked IS NULL;
CREATE INDEX shelved_in_calendar ON shelved (calendar, case_id, milestone);

CREATE TRIGGER issues_no_update BEFORE UPDATE ON issues
BEGIN SELECT RAISE(ABORT, 'issues are never changed'); END;
CREATE TRIGGER issues_no_delete BEFORE DELETE ON issues
BEGIN SELECT RAISE(ABORT, 'issues are never removed'); END;
CREATE TRIGGER issues_no_replace BEFORE INSERT ON issues
WHEN EXISTS (SELECT 1 FROM issues WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'issues are never changed'); END;

-- A message begins under way and ends once. Only its state changes, with who
-- brought it there, when, and what is said of it.

CREATE TRIGGER invitations_begin BEFORE INSERT ON invitations
WHEN NEW.state <> 'under way'
BEGIN SELECT RAISE(ABORT, 'a message begins under way'); END;
CREATE TRIGGER invitations_end_once BEFORE UPDATE ON invitations
WHEN OLD.state <> 'under way' OR NEW.state = 'under way'
BEGIN SELECT RAISE(ABORT, 'a message ends once'); END;
CREATE TRIGGER invitations_keep_content BEFORE UPDATE ON invitations
WHEN (NEW.id, NEW.case_id, NEW.milestone, NEW.revision, NEW.method, NEW.sequence, NEW.recipient, NEW.message_id, NEW.event)
  <> (OLD.id, OLD.case_id, OLD.milestone, OLD.revision, OLD.method, OLD.sequence, OLD.recipient, OLD.message_id, OLD.event)
BEGIN SELECT RAISE(ABORT, 'what a message says never changes'); END;
CREATE TRIGGER invitations_no_delete BEFORE DELETE ON invitations
BEGIN SELECT RAISE(ABORT, 'messages are never removed'); END;
CREATE TRIGGER invitations_no_replace BEFORE INSERT ON invitations
WHEN EXISTS (SELECT 1 FROM invitations WHERE id = NEW.id)
  OR EXISTS (SELECT 1 FROM invitations WHERE case_id = NEW.case_id AND milestone = NEW.milestone AND state = 'under way')
BEGIN SELECT RAISE(ABORT, 'another message is under way'); END;

-- A feed begins standing and is revoked once; nothing else of it changes.

CREATE TRIGGER feeds_begin BEFORE INSERT ON feeds
WHEN NEW.revoked IS NOT NULL
BEGIN SELECT RAISE(ABORT, 'a feed begins standing'); END;
CREATE TRIGGER feeds_end_once BEFORE UPDATE ON feeds
WHEN OLD.revoked IS NOT NULL OR NEW.revoked IS NULL
BEGIN SELECT RAISE(ABORT, 'a feed is revoked once'); END;
CREATE TRIGGER feeds_keep_place BEFORE UPDATE ON feeds
WHEN (NEW.id, NEW.case_id, NEW.token, NEW.folder, NEW.at, NEW.who)
  <> (OLD.id, OLD.case_id, OLD.token, OLD.folder, OLD.at, OLD.who)
BEGIN SELECT RAISE(ABORT, 'the place of a feed never changes'); END;
CREATE TRIGGER feeds_no_delete BEFORE DELETE ON feeds
BEGIN SELECT RAISE(ABORT, 'feeds are never removed'); END;
CREATE TRIGGER feeds_no_replace BEFORE INSERT ON feeds
WHEN EXISTS (SELECT 1 FROM feeds WHERE id = NEW.id)
  OR EXISTS (SELECT 1 FROM feeds WHERE token = NEW.token)
  OR EXISTS (SELECT 1 FROM feeds WHERE case_id = NEW.case_id AND revoked IS NULL)
BEGIN SELECT RAISE(ABORT, 'another feed has that case or token'); END;

CREATE TRIGGER shelved_no_update BEFORE UPDATE ON shelved
BEGIN SELECT RAISE(ABORT, 'what stood in a shared calendar is never changed'); END;
CREATE TRIGGER shelved_no_delete BEFORE DELETE ON shelved
BEGIN SELECT RAISE(ABORT, 'what stood in a shared calendar is never removed'); END;
CREATE TRIGGER shelved_no_replace BEFORE INSERT ON shelved
WHEN EXISTS (SELECT 1 FROM shelved WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'what stood in a shared calendar is never changed'); END;

CREATE TRIGGER keys_no_update BEFORE UPDATE ON keys
BEGIN SELECT RAISE(ABORT, 'keys are never changed'); END;
CREATE TRIGGER keys_no_delete BEFORE DELETE ON keys
BEGIN SELECT RAISE(ABORT, 'keys are never removed'); END;
CREATE TRIGGER keys_no_replace BEFORE INSERT ON keys
WHEN EXISTS (SELECT 1 FROM keys WHERE name = NEW.name)
BEGIN SELECT RAISE(ABORT, 'keys are never changed'); END;

-- The same for what 0002 left open: a second open visit of a milestone, and a case
-- set to a revision that does not follow.

CREATE TRIGGER visits_no_second_insert BEFORE INSERT ON visits
WHEN NEW.state IN ('booked', 'window held')
  AND EXISTS (SELECT 1 FROM visits WHERE case_id = NEW.case_id AND milestone = NEW.milestone AND state IN ('booked', 'window held'))
BEGIN SELECT RAISE(ABORT, 'another visit of the milestone is open'); END;
CREATE TRIGGER visits_no_second_update BEFORE UPDATE OF state ON visits
WHEN NEW.state IN ('booked', 'window held')
  AND EXISTS (SELECT 1 FROM visits WHERE case_id = NEW.case_id AND milestone = NEW.milestone AND state IN ('booked', 'window held') AND id <> NEW.id)
BEGIN SELECT RAISE(ABORT, 'another visit of the milestone is open'); END;
CREATE TRIGGER cases_no_replace BEFORE INSERT ON cases
WHEN EXISTS (SELECT 1 FROM cases WHERE case_id = NEW.case_id AND current_revision + 1 <> NEW.current_revision)
BEGIN SELECT RAISE(ABORT, 'revisions of a case follow each other'); END;
