package growth

// The numbers of this package that are not in the record. They say how finely
// the arithmetic is done; none of them is a clinical fact.
const (
	// precisionMM is how far the largest distance found may lie below the true
	// one. Two bones nearer to each other than this reach a point together.
	precisionMM = 1e-6
	// tieMM keeps rounding in the last digits from deciding between equals.
	tieMM = 1e-9
	// longestMM is the largest length or position taken: beyond it a square no
	// longer keeps a millionth of a millimetre.
	longestMM = 1e6
	// hairMM is what Band leaves of a width it would take away.
	hairMM = 1e-3

	// hundredths and roundingSlack serve RoundUp: months are shown to two
	// decimals, and a ten-thousandth of the second one is rounding noise.
	hundredths    = 100
	roundingSlack = 1e-4

	// sectors is how many equal sectors an implant's surface is first cut into.
	// A multiple of the four directions, so that symmetric cases stay exact.
	sectors = 8
	// patchLimit ends a search for the largest distance that does not narrow.
	patchLimit = 50_000
	// unevenShare is the share of the surface that a tile may misplace if its edges
	// were straight; coarseTile is the largest share of a tile near several bodies, and
	// fineTile the share from which on a tile is not cut any more.
	unevenShare = 7e-5
	coarseTile  = 1.0 / 500
	fineTile    = unevenShare / 2
	// sag is by how much of its bend the mean of a parabola is off that of the
	// chords between three equidistant points.
	sag = 1.0 / 12
	// usualRamps is how many ramps a curve is given room for.
	usualRamps = 3072
	// buckets is how many equal steps of distance a curve is indexed by.
	buckets = 128
	// axes is how many a room has, corners how many a triangle.
	axes    = 3
	corners = 3
	// coarseBlock is the largest part of the graft taken as one block, and
	// fineBlock the smallest; unevenBlock is the part a block may misplace.
	coarseBlock = 1.0 / 4000
	fineBlock   = 1.0 / 200_000
	unevenBlock = 2e-6
)
