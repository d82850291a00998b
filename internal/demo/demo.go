// Package demo makes a throw-away clinic with a year of invented cases, so that
// anyone can try the pages in one command, and a clinic with very many cases, to
// measure with. Everybody in it is invented, telephone numbers and mail addresses
// are nobody's. It asks no clock: the moment is given.
package demo

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"graftclock/internal/casefile"
	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
	"graftclock/internal/protocol"
	"graftclock/internal/sqlite"
)

// The files of a demo clinic.
const (
	clinicName = "clinic.yaml"
	ledgerName = "clinic.ledger"
)

// usual is how many cases the demo has.
const usual = 80

// Made is a demo clinic as it was made.
type Made struct {
	Folder   string
	Clinic   string          // path of the clinic file
	Ledger   string          // path of the ledger, beside it
	People   []ledger.Person // who may sign in
	Password string          // of each of them
	Today    day.Day         // the day it was made for
	Look     day.Day         // the day with the most visits: today, or the next open day
}

// Make makes the demo clinic in a folder, which it makes too, and plays the twelve
// months before now: some eighty cases. The same day and seed give the same year;
// nothing that it tells happened today. All people sign in with the password. A
// folder that has a clinic file is a refusal of kind Conflict.
func Make(folder string, now time.Time, seed uint64, password string) (*Made, error) {
	return makeCases(folder, day.Of(now), seed, password, usual)
}

// makeCases is Make with so many cases.
func makeCases(folder string, today day.Day, seed uint64, password string, cases int) (*Made, error) {
	made := &Made{Folder: folder, Clinic: filepath.Join(folder, clinicName), Ledger: filepath.Join(folder, ledgerName), Password: password, Today: today}
	houses, err := housesAround(made.Clinic, today)
	if err != nil {
		return nil, err
	}
	made.Look = houses.look
	if err := writeNew(made.Clinic, houses.text); err != nil {
		return nil, err
	}
	err = inOneAct(made.Ledger, func(store desk.Store) error {
		y := newYear(houses, store, today, seed)
		if err := made.signIns(y.keeper, today.AddDays(-yearDays)); err != nil {
			return err
		}
		return y.play(cases)
	})
	if err != nil {
		return nil, err
	}
	return made, nil
}

// signIns lets everybody of the clinic sign in from a day on.
func (m *Made) signIns(k *desk.Keeper, from day.Day) error {
	const opens = 8 * time.Hour
	for _, p := range k.Clinic.People {
		if err := k.SetPassword(desk.Terminal(from.Time().Add(opens), from), p.Name, m.Password); err != nil {
			return err
		}
		m.People = append(m.People, ledger.Person{Name: p.Name, Role: p.Role})
	}
	return nil
}

// writeNew writes a file where none is.
func writeNew(path string, text []byte) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return fmt.Errorf("make the demo clinic: %w", err)
	}
	file, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if errors.Is(err, fs.ErrExist) {
		return &graft.Refusal{Kind: graft.Conflict, Message: path + " is there already", Hint: "a demo clinic needs a folder of its own"}
	}
	if err != nil {
		return fmt.Errorf("make the demo clinic: %w", err)
	}
	_, err = file.Write(text)
	return errors.Join(err, file.Close())
}

// inOneAct opens a new ledger and does all there is to do in one act on it: a year
// of acts that are each on the disk when they are done would take long, and nobody
// needs half a demo.
func inOneAct(path string, do func(desk.Store) error) (err error) {
	file, err := sqlite.Open(path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, file.Close()) }()
	return desk.Keep(file).Act(func(w desk.Writing) error { return do(within{w}) })
}

// within is the ledger for a desk whose acts are all part of one.
type within struct{ w desk.Writing }

// View implements desk.Store.
func (s within) View(look func(desk.Ledger) error) error { return look(s.w) }

// Act implements desk.Store. What an act that fails has written stays written
// until all is taken back, so no act may go on after a failure.
func (s within) Act(do func(desk.Writing) error) error { return do(s.w) }

// keeper is the desk of a clinic by the rules that come with the program.
func keeper(c casefile.Clinic, store desk.Store) *desk.Keeper {
	return desk.NewKeeper(desk.New(c, protocol.Default()), store)
}
