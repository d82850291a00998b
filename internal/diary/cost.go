package diary

// cost is what a plan, or a part of one, costs. Of two plans the one of the lower
// cost is the better: fewest milestones without a day, then fewest booked visits
// moved, then fewest trips, then least distance in days, then least sum of days. What
// an overdue milestone waits counts among the trips. All five are counts in one number, so that costs add up and compare as such.
type cost uint64

const (
	sumBits, distanceBits, tripBits, countBits = 22, 17, 9, 7

	distanceAt = sumBits
	tripsAt    = distanceAt + distanceBits
	movedAt    = tripsAt + tripBits
	unplacedAt = movedAt + countBits

	oneDay      = cost(1) << distanceAt // of distance
	oneTrip     = cost(1) << tripsAt
	oneMoved    = cost(1) << movedAt
	oneUnplaced = cost(1) << unplacedAt

	never = cost(1) << (unplacedAt + countBits) // more than anything costs
)

// plus adds up, and stays at never.
func (c cost) plus(d cost) cost { return min(c+d, never) }

func (c cost) distance() int { return int(c>>distanceAt) & (1<<distanceBits - 1) }
func (c cost) trips() int    { return int(c>>tripsAt) & (1<<tripBits - 1) }
func (c cost) moved() int    { return int(c>>movedAt) & (1<<countBits - 1) }
func (c cost) unplaced() int { return int(c>>unplacedAt) & (1<<countBits - 1) }

// withDistance returns the cost with so many days of distance more and the
// greatest sum.
func (c cost) withDistance(more int) cost {
	const most = 1<<distanceBits - 1
	d := min(c.distance()+more, most)
	return c>>tripsAt<<tripsAt | cost(d)<<distanceAt | (1<<sumBits - 1)
}
