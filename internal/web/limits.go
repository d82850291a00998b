package web

import (
	"sync"
	"time"

	"golang.org/x/time/rate"
)

// mostKeys is how many clients are told apart; past it the idle ones are forgotten,
// and if there are none, all new ones share one limit.
const mostKeys = 10_000

// limits hold everybody to so many requests a while.
type limits struct {
	every rate.Limit
	burst int

	mu    sync.Mutex
	by    map[string]*rate.Limiter
	crowd *rate.Limiter // whom there is no room to tell apart
}

func newLimits(every rate.Limit, burst int) *limits {
	return &limits{every: every, burst: burst, by: map[string]*rate.Limiter{}, crowd: rate.NewLimiter(every, burst)}
}

// Limits: a person who mistypes is not held up, a program that guesses is.
func signInLimits() *limits { return newLimits(rate.Every(6*time.Second), 20) } // a desk of several people behind one address
func tryLimits() *limits    { return newLimits(rate.Every(time.Minute), 10) }   // 70 an hour on one name
func feedLimits() *limits   { return newLimits(rate.Every(time.Second), 60) }

// allow counts one request of a key at a time and says whether it may pass.
func (l *limits) allow(key string, at time.Time) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	one, known := l.by[key]
	if !known {
		if len(l.by) >= mostKeys {
			l.forget(at)
		}
		if len(l.by) >= mostKeys {
			return l.crowd.AllowN(at, 1)
		}
		one = rate.NewLimiter(l.every, l.burst)
		l.by[key] = one
	}
	return one.AllowN(at, 1)
}

// forget drops who has not asked for so long that nothing is counted any more.
func (l *limits) forget(at time.Time) {
	for key, one := range l.by {
		if one.TokensAt(at) >= float64(l.burst) {
			delete(l.by, key)
		}
	}
}
