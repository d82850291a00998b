package web

import (
	"sync"
	"time"
)

// presence is what a browser's session need not write into the ledger at every click:
// when it last asked for something, and what is to be told on its next page. It is
// forgotten when the program ends; the session is not.
type presence struct {
	mu sync.Mutex
	by map[string]present // by the session's token
}

type present struct {
	seen  time.Time
	flash string
}

func newPresence() *presence { return &presence{by: map[string]present{}} }

// seen notes that a session asks for something and returns when it last did; the zero
// time if that is not known.
func (p *presence) seen(token string, at time.Time, idle time.Duration) time.Time {
	p.mu.Lock()
	defer p.mu.Unlock()
	one := p.by[token]
	last := one.seen
	if one.seen = at; last.IsZero() && len(p.by) >= mostKeys {
		p.forget(at, idle)
	}
	p.by[token] = one
	return last
}

// forget drops the sessions that have run out.
func (p *presence) forget(at time.Time, idle time.Duration) {
	for token, one := range p.by {
		if at.Sub(one.seen) > idle {
			delete(p.by, token)
		}
	}
}

// end drops a session.
func (p *presence) end(token string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	delete(p.by, token)
}

// tell keeps what the next page of a session says.
func (p *presence) tell(token, says string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	one := p.by[token]
	one.flash = says
	p.by[token] = one
}

// told returns what the next page of a session says, once.
func (p *presence) told(token string) string {
	p.mu.Lock()
	defer p.mu.Unlock()
	one, known := p.by[token]
	if !known || one.flash == "" {
		return ""
	}
	says := one.flash
	one.flash = ""
	p.by[token] = one
	return says
}
