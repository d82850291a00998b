package graft

// Refusal is an error the program understands: it knows what was asked and will
// not do it.
type Refusal struct {
	Kind    RefusalKind
	Message string
	Hint    string // what would help; empty: nothing to say
}

// RefusalKind sorts refusals for the exit code and, later, the web status.
type RefusalKind string

// The kinds of refusal.
const (
	NotFound RefusalKind = "not found"
	Conflict RefusalKind = "conflict"
	Invalid  RefusalKind = "invalid"
)

// Error returns the message.
func (r *Refusal) Error() string { return r.Message }
