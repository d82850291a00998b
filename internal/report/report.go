// Package report writes the surgeon's page of a case, as HTML and as PDF: every date
// with the reasons that can be checked with a pencil, the drawings of each site, what
// other facts would change, and the sources. Both forms are made of the same text. It
// computes no date and knows no calendar: it is given a plan and lays it out.
package report

import (
	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/paper"
	"graftclock/internal/protocol"
)

// Report is what the page needs to know. Text may hold anything: it is cleaned and
// escaped on the way out.
type Report struct {
	Head     Letterhead
	Case     graft.Case
	File     string // of the record; the findings name their lines in it
	Timeline graft.Timeline
	Sites    []protocol.Site // those that have a bone clock
	Volumes  []graft.GraftShare
	WhatIf   []WhatIf
	Limits   []Limit // the restrictions of the letter
	RedFlags graft.Reason
	Own      []string // rule values of the clinic's own, one sentence each
	Notes    []string // what to know of the clinic's calendar
	Revision Revision // the zero one: planned from a file alone
	Approval Approval // the zero one: a draft
	Stands   map[graft.MilestoneID]string
	Size     paper.Size
	Caution  string
}

// Letterhead says whose page it is.
type Letterhead struct {
	Name    string
	Address []string
	Phone   string
}

// Revision is the state of the case that the page shows.
type Revision struct {
	Number int // from 1
	By     string
	On     day.Day
}

// Approval is a surgeon's word that a revision may reach the patient.
type Approval struct {
	By string
	On day.Day
}

// Limit is a restriction of the patient's letter: until when, and why.
type Limit struct {
	What   string
	Free   day.Day // first day on which it is over; no day: ask the surgeon
	Reason graft.Reason
}

// Filled is a page ready to be written.
type Filled struct {
	page page
}

// Fill lays a report out. It fails where a rule cites a source that the bibliography
// does not have.
func Fill(r Report) (Filled, error) {
	var b builder
	p := b.page(r)
	return Filled{p}, b.err
}
