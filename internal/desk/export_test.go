package desk

import "graftclock/internal/day"

// NextVisit is what the square code of the letter holds; nil where there is none.
func (d *Desk) NextVisit(p Plan) []byte { return d.nextVisit(p).Entry }

// EveryHit is Hits by planning every case.
func (k *Keeper) EveryHit(on day.Day) ([]Settlement, error) {
	all, err := k.All(on)
	var hits []Settlement
	for _, live := range all {
		hits = append(hits, live.notHeld(live.Unsettled())...)
	}
	return hits, err
}

// Afresh is a keeper of the same desk and ledger that remembers nothing.
func (k *Keeper) Afresh() *Keeper { return NewKeeper(k.Desk, k.store) }
