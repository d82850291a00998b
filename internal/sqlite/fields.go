package sqlite

import (
	"database/sql/driver"
	"fmt"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/ledger"
)

// Each list names the fields of a noun in the order of its columns; it serves to
// write them and to read them back.

func keptFields(k *ledger.Kept) []any { return []any{&k.Case, &k.Patient, &k.Revision, &k.Head} }

func revisionFields(r *ledger.Revision) []any {
	return []any{&r.Case, &r.Number, &r.Patient, blob{&r.Record}, blob{&r.Timeline}, &r.RulesVersion, &r.Source, civil{&r.On}, instant{&r.At}, &r.By, &r.Why}
}

// visitFields are those that a visit is written with; it is read with its number
// before them and the patient after.
func visitFields(v *ledger.Visit) []any {
	return []any{
		&v.Case, &v.Milestone, &v.State, civil{&v.Day}, &v.Start, &v.Minutes, &v.Room, &v.Person,
		civil{&v.Window.NotBefore}, civil{&v.Window.Earliest}, civil{&v.Window.Target}, civil{&v.Window.Latest},
		&v.Revision, instant{&v.Booked}, instant{&v.At}, &v.By, &v.Why,
	}
}

func numberedVisitFields(v *ledger.Visit) []any {
	return append(append([]any{&v.ID}, visitFields(v)...), &v.Patient)
}

func approvalFields(a *ledger.Approval) []any {
	return []any{&a.Case, &a.Revision, instant{&a.At}, &a.By}
}

func overrideFields(o *ledger.Override) []any {
	return []any{&o.Case, &o.Milestone, &o.Revision, civil{&o.Day}, civil{&o.On}, instant{&o.At}, &o.By, &o.Why}
}

func contactFields(c *ledger.Contact) []any {
	return []any{&c.Case, &c.Milestone, reference{&c.Visit}, &c.Outcome, instant{&c.At}, &c.By, &c.Says}
}

// entryFields are those that an entry is written with; it is read with its number
// before them.
func entryFields(e *ledger.Entry) []any {
	return []any{instant{&e.At}, &e.By.Name, &e.By.Role, &e.Case, &e.Milestone, &e.What, &e.Was, &e.Now, &e.Why}
}

func numberedEntryFields(e *ledger.Entry) []any {
	return append([]any{&e.Seq}, entryFields(e)...)
}

func issueFields(i *ledger.Issue) []any {
	return []any{&i.Case, &i.Milestone, &i.Audience, &i.Revision, &i.Sequence, instant{&i.At}, &i.Cancelled, blob{&i.Event}}
}

// invitationFields are those that a message is written with; it is read with its
// number before them.
func invitationFields(i *ledger.Invitation) []any {
	return []any{&i.Case, &i.Milestone, &i.Revision, &i.Method, &i.Sequence, &i.To, &i.MessageID, blob{&i.Event}, &i.State, instant{&i.At}, &i.By, &i.Says}
}

func numberedInvitationFields(i *ledger.Invitation) []any {
	return append([]any{&i.ID}, invitationFields(i)...)
}

// feedFields are those of a feed that stands; one that is revoked is not read.
func feedFields(f *ledger.Feed) []any {
	return []any{&f.Case, &f.Token, &f.Folder, instant{&f.At}, &f.By}
}

// deskFeedFields are those of a feed of the desk that stands, servedFields those of any
// feed that is looked for by its token.
func deskFeedFields(f *ledger.Feed) []any {
	return []any{&f.Person, &f.Token, instant{&f.At}, &f.By}
}

func servedFields(f *ledger.Feed) []any {
	return append([]any{&f.Case}, deskFeedFields(f)...)
}

func accountFields(a *ledger.Account) []any {
	return []any{&a.Name, &a.Hash, &a.Version, instant{&a.At}, &a.By, maybe{&a.Ended}}
}

func draftFields(d *ledger.Draft) []any {
	return []any{&d.Who, &d.Form, blob{&d.Fields}, instant{&d.At}}
}

func numberFields(n *int64) []any { return []any{n} }

func instantFields(at *time.Time) []any { return []any{instant{at}} }

func shelvedFields(s *ledger.Shelved) []any {
	return []any{&s.Calendar, &s.Case, &s.Milestone, &s.Path, &s.ETag, blob{&s.Event}, &s.State, instant{&s.At}}
}

func keyFields(key *[]byte) []any { return []any{blob{key}} }

func tokenFields(token *string) []any { return []any{token} }

func calendarFields(name *string) []any { return []any{name} }

// civil is a day as its text; no day is the empty text. A day that could not be
// read back is not written.
type civil struct{ day *day.Day }

// Value implements driver.Valuer.
func (c civil) Value() (driver.Value, error) {
	text, err := c.day.MarshalText()
	if err != nil {
		return nil, err
	}
	return string(text), new(day.Day).UnmarshalText(text)
}

// Scan implements sql.Scanner.
func (c civil) Scan(src any) error {
	text, ok := src.(string)
	if !ok {
		return fmt.Errorf("%v is no day", src)
	}
	return c.day.UnmarshalText([]byte(text))
}

// instant is a moment in whole seconds since 1970 UTC; it is read back in UTC.
type instant struct{ at *time.Time }

// Value implements driver.Valuer.
func (i instant) Value() (driver.Value, error) { return i.at.Unix(), nil }

// Scan implements sql.Scanner.
func (i instant) Scan(src any) error {
	seconds, ok := src.(int64)
	if !ok {
		return fmt.Errorf("%v is no instant", src)
	}
	*i.at = time.Unix(seconds, 0).UTC()
	return nil
}

// maybe is an instant that need not be; none is written as NULL.
type maybe struct{ at *time.Time }

// Value implements driver.Valuer.
func (m maybe) Value() (driver.Value, error) {
	if m.at.IsZero() {
		return nil, nil
	}
	return instant(m).Value()
}

// Scan implements sql.Scanner.
func (m maybe) Scan(src any) error {
	if src == nil {
		*m.at = time.Time{}
		return nil
	}
	return instant(m).Scan(src)
}

// blob is text in a file's own bytes; none is written as an empty one.
type blob struct{ data *[]byte }

// Value implements driver.Valuer.
func (b blob) Value() (driver.Value, error) { return append([]byte{}, *b.data...), nil }

// Scan implements sql.Scanner.
func (b blob) Scan(src any) error {
	data, ok := src.([]byte)
	if !ok && src != nil {
		return fmt.Errorf("%T is no blob", src)
	}
	*b.data = append([]byte(nil), data...)
	return nil
}

// reference is the number of another row; 0, none, is written as NULL and read as 0.
type reference struct{ id *int64 }

// Value implements driver.Valuer.
func (r reference) Value() (driver.Value, error) {
	if *r.id == 0 {
		return nil, nil
	}
	return *r.id, nil
}

// Scan implements sql.Scanner.
func (r reference) Scan(src any) error {
	id, ok := src.(int64)
	if !ok && src != nil {
		return fmt.Errorf("%v is no number", src)
	}
	*r.id = id
	return nil
}
