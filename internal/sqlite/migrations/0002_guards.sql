-- Guards that hold whatever program writes, and the indexes behind them.

CREATE INDEX visits_of_case ON visits (case_id);
CREATE INDEX visits_taken ON visits (day, start) WHERE state IN ('booked', 'attended');
CREATE UNIQUE INDEX visits_open ON visits (case_id, milestone) WHERE state IN ('booked', 'window held');
CREATE INDEX approvals_of_case ON approvals (case_id);
CREATE INDEX overrides_of_case ON overrides (case_id);
CREATE INDEX contacts_of_case ON contacts (case_id);
CREATE INDEX history_of_case ON history (case_id, seq);

-- No room, person or patient is booked where another visit has the time or has
-- had it: an attended visit keeps its slot. Slots that only touch are fine.

CREATE TRIGGER visits_no_double_insert BEFORE INSERT ON visits
WHEN NEW.state = 'booked' AND NEW.minutes > 0
BEGIN
  SELECT RAISE(ABORT, 'room, person or patient is taken at that time') WHERE EXISTS (
    SELECT 1 FROM visits v
    WHERE v.state IN ('booked', 'attended') AND v.day = NEW.day AND v.minutes > 0
      AND v.start < NEW.start + NEW.minutes AND NEW.start < v.start + v.minutes
      AND (v.room <> '' AND v.room = NEW.room OR v.person <> '' AND v.person = NEW.person OR v.case_id = NEW.case_id));
END;

CREATE TRIGGER visits_no_double_update BEFORE UPDATE OF state ON visits
WHEN NEW.state = 'booked' AND NEW.minutes > 0
BEGIN
  SELECT RAISE(ABORT, 'room, person or patient is taken at that time') WHERE EXISTS (
    SELECT 1 FROM visits v
    WHERE v.state IN ('booked', 'attended') AND v.day = NEW.day AND v.minutes > 0 AND v.id <> NEW.id
      AND v.start < NEW.start + NEW.minutes AND NEW.start < v.start + v.minutes
      AND (v.room <> '' AND v.room = NEW.room OR v.person <> '' AND v.person = NEW.person OR v.case_id = NEW.case_id));
END;

-- Of a visit only its state changes, with who brought it there, when and why.

CREATE TRIGGER visits_keep_slot BEFORE UPDATE ON visits
WHEN (NEW.id, NEW.case_id, NEW.milestone, NEW.day, NEW.start, NEW.minutes, NEW.room, NEW.person,
      NEW.not_before, NEW.earliest, NEW.target, NEW.latest, NEW.revision, NEW.booked)
  <> (OLD.id, OLD.case_id, OLD.milestone, OLD.day, OLD.start, OLD.minutes, OLD.room, OLD.person,
      OLD.not_before, OLD.earliest, OLD.target, OLD.latest, OLD.revision, OLD.booked)
BEGIN SELECT RAISE(ABORT, 'the slot of a visit never changes'); END;

CREATE TRIGGER visits_no_delete BEFORE DELETE ON visits
BEGIN SELECT RAISE(ABORT, 'visits are never removed'); END;

-- The revisions of a case follow each other.

CREATE TRIGGER cases_first_revision BEFORE INSERT ON cases
WHEN NEW.current_revision <> 1 AND NOT EXISTS (SELECT 1 FROM cases WHERE case_id = NEW.case_id)
BEGIN SELECT RAISE(ABORT, 'the first revision of a case is 1'); END;

CREATE TRIGGER cases_next_revision BEFORE UPDATE ON cases
WHEN NEW.case_id <> OLD.case_id OR NEW.current_revision <> OLD.current_revision + 1
BEGIN SELECT RAISE(ABORT, 'revisions of a case follow each other'); END;

CREATE TRIGGER cases_no_delete BEFORE DELETE ON cases
BEGIN SELECT RAISE(ABORT, 'cases are never removed'); END;

CREATE TRIGGER revisions_current BEFORE INSERT ON revisions
WHEN NEW.number IS NOT (SELECT current_revision FROM cases WHERE case_id = NEW.case_id)
BEGIN SELECT RAISE(ABORT, 'revisions of a case follow each other'); END;

-- What is written stays. An insert over a row that is there would remove it
-- without asking the triggers on removal, so it is refused as well.

CREATE TRIGGER revisions_no_update BEFORE UPDATE ON revisions
BEGIN SELECT RAISE(ABORT, 'revisions are never changed'); END;
CREATE TRIGGER revisions_no_delete BEFORE DELETE ON revisions
BEGIN SELECT RAISE(ABORT, 'revisions are never removed'); END;
CREATE TRIGGER revisions_no_replace BEFORE INSERT ON revisions
WHEN EXISTS (SELECT 1 FROM revisions WHERE case_id = NEW.case_id AND number = NEW.number)
BEGIN SELECT RAISE(ABORT, 'revisions are never changed'); END;

CREATE TRIGGER visits_no_replace BEFORE INSERT ON visits
WHEN EXISTS (SELECT 1 FROM visits WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'visits are never removed'); END;

CREATE TRIGGER approvals_no_update BEFORE UPDATE ON approvals
BEGIN SELECT RAISE(ABORT, 'approvals are never changed'); END;
CREATE TRIGGER approvals_no_delete BEFORE DELETE ON approvals
BEGIN SELECT RAISE(ABORT, 'approvals are never removed'); END;
CREATE TRIGGER approvals_no_replace BEFORE INSERT ON approvals
WHEN EXISTS (SELECT 1 FROM approvals WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'approvals are never changed'); END;

CREATE TRIGGER overrides_no_update BEFORE UPDATE ON overrides
BEGIN SELECT RAISE(ABORT, 'overrides are never changed'); END;
CREATE TRIGGER overrides_no_delete BEFORE DELETE ON overrides
BEGIN SELECT RAISE(ABORT, 'overrides are never removed'); END;
CREATE TRIGGER overrides_no_replace BEFORE INSERT ON overrides
WHEN EXISTS (SELECT 1 FROM overrides WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'overrides are never changed'); END;

CREATE TRIGGER contacts_no_update BEFORE UPDATE ON contacts
BEGIN SELECT RAISE(ABORT, 'contacts are never changed'); END;
CREATE TRIGGER contacts_no_delete BEFORE DELETE ON contacts
BEGIN SELECT RAISE(ABORT, 'contacts are never removed'); END;
CREATE TRIGGER contacts_no_replace BEFORE INSERT ON contacts
WHEN EXISTS (SELECT 1 FROM contacts WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'contacts are never changed'); END;

CREATE TRIGGER history_no_update BEFORE UPDATE ON history
BEGIN SELECT RAISE(ABORT, 'the history is never changed'); END;
CREATE TRIGGER history_no_delete BEFORE DELETE ON history
BEGIN SELECT RAISE(ABORT, 'the history is never removed'); END;
CREATE TRIGGER history_no_replace BEFORE INSERT ON history
WHEN EXISTS (SELECT 1 FROM history WHERE seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'the history is never changed'); END;
