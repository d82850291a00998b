package report

import (
	"maps"
	"math"
	"slices"

	"graftclock/internal/protocol"
)

// spot is a place in the section of a site, in mm: across from the mid-line, +
// laterally, and upwards from the sinus floor.
type spot struct{ u, z float64 }

// netMM is the mesh of the net on which fronts are looked for, and netMost how many
// meshes it has at most each way; nearMM is how near to its front a vertex lies, and
// sagMM how far a straight piece may leave out vertices between its ends.
const (
	netMM   = 0.1
	netMost = 400
	nearMM  = 1e-7
	sagMM   = 0.004
)

// net holds the distance to bone on a net that follows the walls, in the plane
// across the sinus through the implant's axis.
type net struct {
	site    protocol.Site
	heights []float64
	across  int // meshes from wall to wall
	far     [][]float64
}

// newNet spans the section from the floor to a height above it.
func newNet(s protocol.Site, topMM float64) *net {
	n := &net{site: s}
	bends := []float64{0, topMM}
	widest := 0.0
	for _, l := range s.Housing.Levels {
		bends = append(bends, min(l.AboveFloorMM, topMM))
		widest = max(widest, l.WidthMM)
	}
	slices.Sort(bends)
	bends = slices.Compact(bends)
	n.across = meshes(widest)
	n.heights = []float64{0}
	for k, to := range bends[1:] {
		parts := meshes(to - bends[k])
		for part := 1; part < parts; part++ {
			n.heights = append(n.heights, bends[k]+(to-bends[k])*float64(part)/float64(parts))
		}
		n.heights = append(n.heights, to)
	}
	for row := range n.heights {
		far := make([]float64, n.across+1)
		for column := range far {
			far[column] = n.distance(n.spot(row, column))
		}
		n.far = append(n.far, far)
	}
	return n
}

func meshes(mm float64) int { return int(math.Ceil(max(1, min(netMost, mm/netMM)))) }

func (n *net) spot(row, column int) spot {
	z := n.heights[row]
	part := 2*float64(column)/float64(n.across) - 1
	return spot{part * n.site.Bone.WidthMM(z) / 2, z}
}

func (n *net) distance(p spot) float64 { return n.site.Bone.DistanceMM(p.u, n.site.Post.AtMM, p.z) }

// front is the line in the section to which bone has grown by a distance: its pieces
// in a fixed order, each a run of points that lie on it.
func (n *net) front(grownMM float64) [][]spot {
	links := map[int][]int{}
	join := func(a, b int) { links[a], links[b] = append(links[a], b), append(links[b], a) }
	for row := range len(n.heights) - 1 {
		for column := range n.across {
			n.cell(row, column, grownMM, join)
		}
	}
	var pieces [][]spot
	for _, ends := range []int{1, 2} { // open pieces first, then rings
		for _, edge := range slices.Sorted(maps.Keys(links)) {
			if len(links[edge]) != ends {
				continue
			}
			var piece []spot
			for _, e := range walk(links, edge) {
				piece = append(piece, n.crossing(e, grownMM))
			}
			pieces = append(pieces, piece)
		}
	}
	return pieces
}

// cell joins the edges of one mesh that a front crosses. Where it crosses all four,
// the middle of the mesh says which belong together.
func (n *net) cell(row, column int, grownMM float64, join func(a, b int)) {
	corners := [...]float64{n.far[row][column], n.far[row][column+1], n.far[row+1][column+1], n.far[row+1][column]}
	if beyond := corners[0] > grownMM; beyond == (corners[1] > grownMM) && beyond == (corners[2] > grownMM) && beyond == (corners[3] > grownMM) {
		return // as most are
	}
	edges := [...]int{n.level(row, column), n.upright(row, column+1), n.level(row+1, column), n.upright(row, column)}
	var crossed []int
	for k, edge := range edges {
		if (corners[k] > grownMM) != (corners[(k+1)%len(corners)] > grownMM) {
			crossed = append(crossed, edge)
		}
	}
	switch len(crossed) {
	case 2:
		join(crossed[0], crossed[1])
	case len(edges):
		low, high := n.spot(row, column), n.spot(row+1, column+1)
		middle := n.distance(spot{(low.u + high.u) / 2, (low.z + high.z) / 2})
		if (middle > grownMM) == (corners[0] > grownMM) {
			join(edges[0], edges[1])
			join(edges[2], edges[3])
		} else {
			join(edges[3], edges[0])
			join(edges[1], edges[2])
		}
	}
}

// level and upright number the edges of the net: from a corner across, and upwards.
func (n *net) level(row, column int) int   { return 2 * (row*(n.across+1) + column) }
func (n *net) upright(row, column int) int { return n.level(row, column) + 1 }

// crossing is where a front crosses an edge. A straight line through both ends says
// where to try next; an end that stays twice counts half, so that the other moves too.
func (n *net) crossing(edge int, grownMM float64) spot {
	row, column := edge/2/(n.across+1), edge/2%(n.across+1)
	a, b := n.spot(row, column), n.spot(row, column+1)
	offA, offB := n.far[row][column]-grownMM, 0.0
	if edge%2 == 1 {
		b, offB = n.spot(row+1, column), n.far[row+1][column]-grownMM
	} else {
		offB = n.far[row][column+1] - grownMM
	}
	const enough = 60 // more than halving alone would take
	stayed := 0.0
	for range enough {
		part := offA / (offA - offB)
		try := spot{a.u + (b.u-a.u)*part, a.z + (b.z-a.z)*part}
		off := n.distance(try) - grownMM
		switch {
		case math.Abs(off) <= nearMM || try == a || try == b:
			return try
		case (off > 0) == (offB > 0):
			if b, offB = try, off; stayed > 0 {
				offA /= 2
			}
			stayed = 1
		default:
			if a, offA = try, off; stayed < 0 {
				offB /= 2
			}
			stayed = -1
		}
	}
	return a
}

// walk follows the links from an edge to the other end, or round to it again, and
// takes them away.
func walk(links map[int][]int, from int) []int {
	way := []int{from}
	for at := from; len(links[at]) > 0; {
		next := links[at][0]
		links[at] = links[at][1:]
		back := slices.Index(links[next], at)
		links[next] = slices.Delete(links[next], back, back+1)
		way = append(way, next)
		at = next
	}
	return way
}

// visible cuts a piece of a front to what the implant does not cover, with one point
// more at each cut.
func visible(piece []spot, covered func(spot) bool) [][]spot {
	var parts [][]spot
	var part []spot
	for k, p := range piece {
		seen := !covered(p) || k > 0 && !covered(piece[k-1]) || k+1 < len(piece) && !covered(piece[k+1])
		if seen {
			part = append(part, p)
			continue
		}
		if len(part) > 1 {
			parts = append(parts, part)
		}
		part = nil
	}
	if len(part) > 1 {
		parts = append(parts, part)
	}
	return parts
}

// thinned leaves out points that lie within sagMM of the line between others.
func thinned(piece []spot) []spot {
	first, last := piece[0], piece[len(piece)-1]
	worst, at := sagMM, 0
	for k := 1; k < len(piece)-1; k++ {
		if off := offLine(piece[k], first, last); off > worst {
			worst, at = off, k
		}
	}
	if at == 0 {
		return []spot{first, last}
	}
	return append(thinned(piece[:at+1]), thinned(piece[at:])[1:]...)
}

// offLine is the distance from a point to the straight line from a to b.
func offLine(p, a, b spot) float64 {
	du, dz := b.u-a.u, b.z-a.z
	along := 0.0
	if square := du*du + dz*dz; square > 0 {
		along = max(0, min(1, ((p.u-a.u)*du+(p.z-a.z)*dz)/square))
	}
	return math.Hypot(p.u-a.u-along*du, p.z-a.z-along*dz)
}
