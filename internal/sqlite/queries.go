package sqlite

import (
	"strings"

	"graftclock/internal/ledger"
)

// All SQL that reads and writes the ledger is here and in migrations. It is kept
// to what PostgreSQL understands, but for the question marks.

// Columns of what is stored, in the order of the fields in fields.go.
const (
	revisionColumns = `case_id, number, patient, record, timeline, rules_version, source, planned, at, who, why`
	visitColumns    = `case_id, milestone, state, day, start, minutes, room, person, not_before, earliest, target, latest, revision, booked, at, who, why`
	approvalColumns = `case_id, revision, at, who`
	overrideColumns = `case_id, milestone, revision, day, given, at, who, why`
	contactColumns  = `case_id, milestone, visit, outcome, at, who, says`
	entryColumns    = `at, who, role, case_id, milestone, what, was, now, why`

	issueColumns      = `case_id, milestone, audience, revision, sequence, at, cancelled, event`
	invitationColumns = `case_id, milestone, revision, method, sequence, recipient, message_id, event, state, at, who, says`
	feedColumns       = `case_id, token, folder, at, who`
	deskFeedColumns   = `person, token, at, who`
	servedColumns     = `hash, token`
	shelvedColumns    = `calendar, case_id, milestone, path, etag, event, state, at`

	accountColumns = `name, hash, version, at, who, ended`
	draftColumns   = `who, form, fields, at`
	sessionColumns = `token, data, until`
)

// Reading.
const (
	selectKept = `SELECT case_id, patient, current_revision,
		coalesce((SELECT max(seq) FROM history h WHERE h.case_id = cases.case_id AND what NOT IN (` + noChange + `)), 0) FROM cases`
	noChange = `'` + ledger.Refused + `', '` + ledger.SignIn + `', '` + ledger.SignInRefused + `'`
	allCases = selectKept + ` ORDER BY case_id`
	oneCase  = selectKept + ` WHERE case_id = ?`

	oneRevision      = `SELECT ` + revisionColumns + ` FROM revisions WHERE case_id = ? AND number = ?`
	currentRevisions = `SELECT r.case_id, r.number, r.patient, r.record, r.timeline, r.rules_version, r.source, r.planned, r.at, r.who, r.why
		FROM revisions r JOIN cases c ON r.case_id = c.case_id AND r.number = c.current_revision ORDER BY r.case_id`

	selectVisits  = `SELECT id, ` + visitColumns + `, patient FROM visits JOIN cases USING (case_id)`
	allVisits     = selectVisits + ` ORDER BY id`
	oneVisit      = selectVisits + ` WHERE id = ?`
	visitsOfCase  = selectVisits + ` WHERE case_id = ? ORDER BY id`
	visitsChanged = `SELECT coalesce(max(at), 0) FROM visits`
	takenOn       = selectVisits + ` WHERE state IN ('booked', 'attended') AND minutes > 0 AND day BETWEEN ? AND ? ORDER BY day, start, id`

	approvalsOfCase = `SELECT ` + approvalColumns + ` FROM approvals WHERE case_id = ? ORDER BY id`
	overridesOfCase = `SELECT ` + overrideColumns + ` FROM overrides WHERE case_id = ? ORDER BY id`
	contactsOfCase  = `SELECT ` + contactColumns + ` FROM contacts WHERE case_id = ? ORDER BY id`

	allHistory    = `SELECT seq, ` + entryColumns + ` FROM history ORDER BY seq`
	historyOfCase = `SELECT seq, ` + entryColumns + ` FROM history WHERE case_id = ? ORDER BY seq`
	historyAfter  = `SELECT seq, ` + entryColumns + ` FROM history WHERE seq > ? ORDER BY seq`
	historyHead   = `SELECT coalesce(max(seq), 0) FROM history`

	historyOfCaseBefore = `SELECT seq, ` + entryColumns + ` FROM history WHERE case_id = ? AND seq < ? ORDER BY seq DESC LIMIT ?`
	historyOfCaseAfter  = `SELECT seq, ` + entryColumns + ` FROM history WHERE case_id = ? AND seq > ? ORDER BY seq LIMIT ?`
)

// Reading who may sign in, who is signed in, and what they are typing.
const (
	selectAccounts = `SELECT ` + accountColumns + ` FROM accounts`
	allAccounts    = selectAccounts + ` ORDER BY name`
	oneAccount     = selectAccounts + ` WHERE name = ?`
	oneDraft       = `SELECT ` + draftColumns + ` FROM drafts WHERE who = ? AND form = ?`
	oneSession     = `SELECT data FROM sessions WHERE token = ? AND until > ?`
)

// Reading what was given out. Of rows that follow each other the latest counts.
const (
	calendarKey  = `SELECT value FROM keys WHERE name = 'calendar'`
	issuesOfCase = `SELECT ` + issueColumns + ` FROM issues
		WHERE id IN (SELECT max(id) FROM issues WHERE case_id = ? GROUP BY milestone, audience) ORDER BY milestone, audience`
	issueHead   = `SELECT coalesce(max(id), 0) FROM issues`
	issuesAfter = `SELECT ` + issueColumns + ` FROM issues WHERE id > ? AND audience = ? ORDER BY id`

	selectInvitations   = `SELECT id, ` + invitationColumns + ` FROM invitations`
	invitationsOfCase   = selectInvitations + ` WHERE case_id = ? ORDER BY id`
	oneInvitation       = selectInvitations + ` WHERE id = ?`
	invitationsUnderWay = selectInvitations + ` WHERE case_id = ? AND milestone = ? AND state = 'under way'`

	selectFeeds = `SELECT ` + feedColumns + ` FROM feeds WHERE revoked IS NULL`
	allFeeds    = selectFeeds + ` ORDER BY case_id`
	feedOfCase  = selectFeeds + ` AND case_id = ?`

	selectDeskFeeds  = `SELECT ` + deskFeedColumns + ` FROM desk_feeds WHERE revoked IS NULL`
	allDeskFeeds     = selectDeskFeeds + ` ORDER BY person`
	deskFeedOfPerson = selectDeskFeeds + ` AND person = ?`

	feedOfToken = `SELECT case_id, '', f.token, at, who FROM served s JOIN feeds f ON f.token = s.token WHERE hash = ? AND revoked IS NULL
		UNION ALL SELECT '', person, f.token, at, who FROM served s JOIN desk_feeds f ON f.token = s.token WHERE hash = ? AND revoked IS NULL`

	selectShelved = `SELECT ` + shelvedColumns + ` FROM shelved s WHERE calendar = ? AND id >= coalesce((SELECT max(id) FROM shelved t
		WHERE t.calendar = s.calendar AND t.case_id = s.case_id AND t.milestone = s.milestone AND t.state <> 'under way'), 0)`
	inOrder       = ` ORDER BY case_id, milestone, id`
	allShelved    = selectShelved + inOrder
	shelvedOfCase = selectShelved + ` AND case_id = ?` + inOrder

	allCalendars = `SELECT DISTINCT calendar FROM shelved ORDER BY calendar`

	syncToken = `SELECT token FROM sync_tokens WHERE calendar = ?`
)

// What stands in the way of a visit: another open one of its milestone, and one
// at the same time in the same room, with the same person or of the same patient.
const (
	openVisit = selectVisits + ` WHERE case_id = ? AND milestone = ? AND state IN ('booked', 'window held') AND id <> ?`
	taken     = selectVisits + ` WHERE state IN ('booked', 'attended') AND day = ? AND minutes > 0 AND start < ? AND start + minutes > ? AND id <> ?
		AND (room <> '' AND room = ? OR person <> '' AND person = ? OR case_id = ?) ORDER BY start, id LIMIT 1`
)

// Writing.
const (
	keepCase = `INSERT INTO cases (case_id, patient, current_revision) VALUES (?, ?, ?)
		ON CONFLICT (case_id) DO UPDATE SET patient = excluded.patient, current_revision = excluded.current_revision`
	changeVisit = `UPDATE visits SET state = ?, at = ?, who = ?, why = ? WHERE id = ?`

	endInvitation = `UPDATE invitations SET state = ?, at = ?, who = ?, says = ? WHERE id = ?`
	revokeFeed    = `UPDATE feeds SET revoked = ?, revoked_by = ? WHERE case_id = ? AND revoked IS NULL`
	revokeDesk    = `UPDATE desk_feeds SET revoked = ?, revoked_by = ? WHERE person = ? AND revoked IS NULL`
	setSyncToken  = `INSERT INTO sync_tokens (calendar, token) VALUES (?, ?) ON CONFLICT (calendar) DO UPDATE SET token = excluded.token`
	keepKey       = `INSERT INTO keys (name, value) SELECT 'calendar', ? WHERE NOT EXISTS (SELECT 1 FROM keys WHERE name = 'calendar')`

	endAccount  = `UPDATE accounts SET hash = '', ended = ? WHERE name = ?`
	dropDraft   = `DELETE FROM drafts WHERE who = ? AND form = ?`
	dropDrafts  = `DELETE FROM drafts WHERE at < ?`
	endSession  = `DELETE FROM sessions WHERE token = ?`
	endSessions = `DELETE FROM sessions WHERE until <= ?`
	forgetSigns = `DELETE FROM sessions; DELETE FROM drafts`
)

var (
	addRevision = insert("revisions", revisionColumns)
	addVisit    = insert("visits", visitColumns) + ` RETURNING id`
	addApproval = insert("approvals", approvalColumns)
	addOverride = insert("overrides", overrideColumns)
	addContact  = insert("contacts", contactColumns)
	addEntry    = insert("history", entryColumns)

	addIssue      = insert("issues", issueColumns)
	addInvitation = insert("invitations", invitationColumns) + ` RETURNING id`
	addFeed       = insert("feeds", feedColumns)
	addDeskFeed   = insert("desk_feeds", deskFeedColumns)
	addServed     = insert("served", servedColumns)
	addShelved    = insert("shelved", shelvedColumns)

	setAccount = insert("accounts", accountColumns) + ` ON CONFLICT (name) DO UPDATE
		SET hash = excluded.hash, version = excluded.version, at = excluded.at, who = excluded.who, ended = excluded.ended`
	setDraft    = insert("drafts", draftColumns) + ` ON CONFLICT (who, form) DO UPDATE SET fields = excluded.fields, at = excluded.at`
	keepSession = insert("sessions", sessionColumns) + ` ON CONFLICT (token) DO UPDATE SET data = excluded.data, until = excluded.until`
)

func insert(table, columns string) string {
	return `INSERT INTO ` + table + ` (` + columns + `) VALUES (?` + strings.Repeat(`, ?`, strings.Count(columns, ",")) + `)`
}
