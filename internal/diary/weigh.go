package diary

import "slices"

// scope says which steps are free to move while the days of a milestone are weighed.
type scope int

const (
	everyStep  scope = iota
	ownPart          // those of its own part; the others stay where the best plan has them
	stepByStep       // those that count from it, one after the other
)

// weigh works out what the whole plan costs with the milestone on each day of its
// window. All days are weighed alike, in the widest scope that is not too much.
func (o *offerer) weigh(widest scope) {
	o.most = mostOffering / max(1, len(o.offers))
	o.scope = widest
	if o.base.inParts || o.base.spent() > o.most {
		o.scope = max(o.scope, ownPart)
	}
	for !o.weighAll() {
		o.scope++
	}
	o.offers = slices.DeleteFunc(o.offers, func(w weighed) bool { return w.cost >= never })
}

// weighAll weighs the days in a scope; it reports whether that was not too much, for
// one of them or for all together.
func (o *offerer) weighAll() bool {
	spent := 0
	for k := range o.offers {
		w := &o.offers[k]
		if w.outside > 0 {
			continue
		}
		s, tired := o.price(w)
		spent += s.spent()
		if (tired || spent > 2*mostOffering) && o.scope < stepByStep {
			return false
		}
	}
	return true
}

// price works out what the whole plan costs with the milestone on a day, and returns
// the search that knows that plan. A cost of never: there is none, or, tired, it was
// not found.
func (o *offerer) price(w *weighed) (s *joint, tired bool) {
	s, w.cost = o.priced(w, o.scope)
	if tired = s.tired(); w.cost >= never && !tired && o.scope > everyStep {
		s, w.cost = o.priced(w, everyStep) // the others are in the way
	}
	return s, tired
}

// priced is price in a scope.
func (o *offerer) priced(w *weighed, in scope) (*joint, cost) {
	if in > everyStep && o.parts == nil {
		o.parts = newParts(o.base.Request, o.base.clinic)
	}
	if in == stepByStep {
		return o.parts.from(o.i, w.day, o.base.cur, o.base.stay)
	}
	s := o.held(w, false, in)
	total := s.run()
	if total >= never && !s.tired() {
		s = o.held(w, true, in)
		total = s.run()
	}
	if s.tired() {
		return s, never
	}
	return s, total
}

// held is a search with the milestone held on a day: one inside its window only in plans
// in which it is. It is made anew for each day, for a day given bounds the days of all
// that counts from it.
func (o *offerer) held(w *weighed, mayLack bool, in scope) *joint {
	m := bareModel(o.base.Request, o.base.clinic)
	m.mayLack, m.shared = mayLack, o.base.model
	if in == ownPart {
		o.parts.hold(m, o.parts.of(o.i), o.base.cur, o.base.stay)
	}
	m.held[o.i] = fixed{on: true, day: w.day, within: w.outside == 0}
	m.link()
	m.hold()
	s := newJoint(m)
	s.reuse(o.base.bounds)
	if s.most = mostOfPart; in == everyStep {
		s.most = max(o.most, mostOfPart)
	}
	return s
}
