package web

import "graftclock/internal/day"

// Address is one route as a test sees it.
type Address struct {
	Method, Pattern, Name string
	Open                  bool // without a sign-in
	Overwrites            bool // an act on a case that says what its page showed
}

// Addresses lists every route of the program.
func (s *Server) Addresses() []Address {
	var list []Address
	for _, r := range s.routes() {
		list = append(list, Address{r.method, r.pattern, r.name, r.asks == anybody, r.overwrites()})
	}
	return list
}

// CatchUp does what Work does in the background, until nothing is left.
func (s *Server) CatchUp() error {
	for {
		left, err := s.house.open().board.Deepen(day.Of(s.Now()), batch)
		if left == 0 || err != nil {
			return err
		}
	}
}

// UnderWay is how many requests are being answered.
func (s *Server) UnderWay() int64 { return s.underWay.Load() }
