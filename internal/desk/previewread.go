package desk

import (
	"runtime"
	"sync"

	"graftclock/internal/graft"
)

// factsOfEach reads what the ledger holds of some cases.
func factsOfEach(l Ledger, cases []graft.CaseID) ([]facts, error) {
	list := make([]facts, len(cases))
	for n, id := range cases {
		var err error
		if list[n], err = factsOfCase(l, id); err != nil {
			return nil, err
		}
	}
	return list, nil
}

// factsOfCase reads what the ledger holds of one case.
func factsOfCase(l Ledger, id graft.CaseID) (facts, error) {
	kept, err := l.Case(id)
	if err != nil {
		return facts{}, err
	}
	revision, err := l.Revision(id, kept.Revision)
	if err != nil {
		return facts{}, err
	}
	visits, err := l.Visits(id)
	if err != nil {
		return facts{}, err
	}
	return factsOf(l, Standing{Kept: kept, Revision: revision, Visits: visits})
}

// inHand is a case that was read and is to be looked at, with its place in the list.
type inHand struct {
	n int
	facts
}

// eachOf reads one case after the other and does something with each, with so many at
// work at once. The next is read meanwhile, so that both cost no more time than the longer
// of them, and no more cases are in hand than are looked at. It returns the first error by
// the place in the list.
func eachOf(l Ledger, cases []graft.CaseID, workers int, do func(n int, f facts) error) error {
	errs := make([]error, len(cases))
	hand := make(chan inHand)
	var working sync.WaitGroup
	for range min(len(cases), workers) {
		working.Go(func() {
			for h := range hand {
				errs[h.n] = do(h.n, h.facts)
				runtime.Gosched() // whoever waits for a page waits for one case at most
			}
		})
	}
	for n, id := range cases {
		f, err := factsOfCase(l, id)
		if err != nil {
			errs[n] = err
			break
		}
		hand <- inHand{n, f}
	}
	close(hand)
	working.Wait()
	return firstError(errs)
}

// allCores is how many work for somebody who waits before a page.
func allCores() int { return runtime.GOMAXPROCS(0) }

// allButOne is how many work for a program that fetches a feed.
func allButOne() int { return max(allCores()-1, 1) }

func firstError(errs []error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
