package desk

// NextVisit is what the square code of the letter holds; nil where there is none.
func (d *Desk) NextVisit(p Plan) []byte { return d.nextVisit(p).Entry }
