package ledger

import "time"

// Account is a person's sign-in. The role stays in the clinic file.
type Account struct {
	Name    string    // of a person of the clinic file
	Hash    string    // of the password, as package password writes it; empty once it has ended
	Version int       // rises with each password that is set, from 1
	At      time.Time // when the password was set
	By      string    // who set it
	Ended   time.Time // zero: it stands
}

// Draft is what somebody was typing into a form and has not kept.
type Draft struct {
	Who, Form string
	Fields    []byte
	At        time.Time
}
