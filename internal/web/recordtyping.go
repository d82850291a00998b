package web

import (
	"sync"
	"time"

	"golang.org/x/time/rate"
)

// draftEvery is how often what somebody types is kept in the ledger while they type:
// a ledger is no keyboard buffer. The script asks once more when the person rests.
const draftEvery = 3 * time.Second

// typing is what people have typed since their drafts were last kept. Who reloads a
// page gets it back; it does not outlive the program.
type typing struct {
	every *limits // by what typingKey makes

	mu   sync.Mutex
	last map[string]asTyped
}

// asTyped is what stood in a form at a moment.
type asTyped struct {
	fields []byte
	at     time.Time
}

func newTyping() *typing {
	return &typing{every: newLimits(rate.Every(draftEvery), 1), last: map[string]asTyped{}}
}

// typingKey tells the forms of one person from each other and from those of others.
func typingKey(who, form string) string { return who + "\x00" + form }

// due reports whether it is time to keep a draft, and else remembers what was typed.
func (t *typing) due(key string, now asTyped, leaving bool) bool {
	counted := key
	if leaving {
		counted += "\x00leaving"
	}
	if t.every.allow(counted, now.at) {
		return true
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	t.last[key] = now
	return false
}

// since returns what was typed since the draft was last kept.
func (t *typing) since(key string) (asTyped, bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	last, there := t.last[key]
	return last, there
}

// forget drops what is kept now, or no longer wanted.
func (t *typing) forget(key string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	delete(t.last, key)
}
