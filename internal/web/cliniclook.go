package web

import (
	"errors"

	"graftclock/internal/casefile"
	"graftclock/internal/desk"
	"graftclock/internal/protocol"
)

// errLooked ends an act on the clinic's files at the moment at which it would write one.
var errLooked = errors.New("looked at and not written")

// lookFiles are the clinic's files for an act that is only looked at.
type lookFiles struct {
	desk.ClinicFiles
	name string // the file that would be written
	text []byte
}

// Replace notes what would be written, and ends the act.
func (f *lookFiles) Replace(name string, _, now []byte) error {
	f.name, f.text = name, now
	return errLooked
}

// look returns the desk as an act on the clinic's files would make it. It runs the act
// itself, up to where a file would be written: what would be refused is refused, and
// nothing is kept.
func (q *request) look(act func(desk.ClinicFiles) (*desk.Desk, error)) (*desk.Desk, error) {
	files := &lookFiles{ClinicFiles: q.s.Files}
	_, err := act(files)
	switch {
	case err == nil:
		return nil, errors.New("web: an act that was looked at wrote no file")
	case !errors.Is(err, errLooked):
		return nil, err
	}
	return q.deskOf(files)
}

// deskOf is the desk of the clinic with one of its files as it would be written.
func (q *request) deskOf(f *lookFiles) (*desk.Desk, error) {
	c, rules := q.keeper.Clinic, q.keeper.Rules
	if f.name == f.ClinicName() {
		changed, faults := casefile.ReadClinic(c.File, f.text, f.Read)
		if len(faults) > 0 {
			return nil, faults
		}
		c = changed
	} else {
		changed, faults := protocol.Default().Adopt(f.name, f.text)
		if len(faults) > 0 {
			return nil, faults
		}
		rules = changed
	}
	d := desk.New(c, rules)
	d.Templates = q.keeper.Templates
	return d, nil
}
