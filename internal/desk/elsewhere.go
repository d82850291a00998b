package desk

// Elsewhere is another shared calendar in which visits stand.
type Elsewhere struct {
	Calendar string // its address
	Entries  int
}

// Elsewhere lists the other calendars in which visits stand, as long as none stands in
// this one: the clinic file names another calendar than before, and nobody looks after
// the old one any more.
func (k *Keeper) Elsewhere(shelf Shelf) (others []Elsewhere, err error) {
	err = k.store.View(func(l Ledger) error {
		all, err := l.Calendars()
		if err != nil {
			return err
		}
		for _, name := range all {
			n, err := entriesIn(l, name)
			switch {
			case err != nil:
				return err
			case n > 0 && name == shelf.Name:
				others = nil
				return nil
			case n > 0:
				others = append(others, Elsewhere{name, n})
			}
		}
		return nil
	})
	return others, err
}

// entriesIn counts the visits that stand in a shared calendar.
func entriesIn(l Ledger, calendar string) (n int, err error) {
	known, err := shelvedIn(l, Shelf{Name: calendar}, "")
	for _, s := range known {
		if s.standing() {
			n++
		}
	}
	return n, err
}
