package report

// The sentences that the page and the printed page share.
const (
	draftSays   = "No surgeon has approved this plan."
	noDates     = "No step has a date. The findings say why."
	estimate    = "Months until bone holds each implant: an estimate from distances, never a measurement."
	reasonsLead = "Each line can be checked with a pencil. A rule that stands further up with its sources is told again only in brief."
	whatIfLead  = "Each row is a plan of its own, made from the record with that one change and nothing of the ledger: questions, no advice. Differences count from the first row."
	signLead    = "An override earlier than a gate needs a reason."
)

// signHead and signRows are the table to sign on paper.
var (
	signHead = []string{"What", "New day and reason", "Name", "Date", "Signature"}
	signRows = []string{"Plan approved", "Override of", "Override of"}
)

// Words is what the layout prints of them.
func (p page) Words() map[string]string {
	return map[string]string{"Draft": draftSays, "NoDates": noDates, "Estimate": estimate, "Reasons": reasonsLead, "WhatIf": whatIfLead, "Sign": signLead}
}

// SignHead and SignRows are for the layout.
func (p page) SignHead() []string { return signHead }

// SignRows are what may be signed.
func (p page) SignRows() []string { return signRows }
