package web

import (
	"sync"
	"time"

	"graftclock/internal/desk"
)

// house is the clinic as its files now stand. A file with faults changes nothing:
// the pages go on with the clinic as it was and say so.
type house struct {
	load  func() (*desk.Desk, error)
	stamp func() string
	now   func() time.Time
	store desk.Store

	giveWay func() // to those who wait for a page, between two plans

	mu     sync.Mutex
	seen   string // the stamp of what was last read
	keeper *desk.Keeper
	board  *desk.Board
	fault  error     // of the files, since they were last read without one
	since  time.Time // when the keeper's files were read
}

func newHouse(o Options, giveWay func()) (*house, error) {
	h := &house{giveWay: giveWay, load: o.Load, stamp: o.Stamp, now: o.Now, store: o.Store}
	if _, err := h.load(); err != nil { // only now are all files known that the stamp watches
		return nil, err
	}
	h.seen = h.stamp()
	d, err := h.load()
	if err != nil {
		return nil, err
	}
	h.enter(d)
	return h, nil
}

func (h *house) enter(d *desk.Desk) {
	h.keeper, h.fault, h.since = desk.NewKeeper(d, h.store), nil, h.now()
	if h.board == nil {
		h.board = desk.NewBoard(h.keeper)
		h.board.GiveWay = h.giveWay
	}
	h.board.Enter(h.keeper)
}

// rooms are what a request works with, the same from its beginning to its end.
type rooms struct {
	keeper *desk.Keeper
	board  *desk.Board
	fault  error
	since  time.Time
}

// open returns the clinic as it stands, reading its files anew if they changed.
func (h *house) open() rooms {
	h.mu.Lock()
	defer h.mu.Unlock()
	if stamp := h.stamp(); stamp != h.seen {
		h.seen = stamp
		if d, err := h.load(); err != nil {
			h.fault = err
		} else {
			h.enter(d)
		}
	}
	return rooms{h.keeper, h.board, h.fault, h.since}
}
