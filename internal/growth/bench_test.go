package growth_test

import (
	"math"
	"testing"
	"time"

	"graftclock/internal/growth"
)

// curvePoints is how many points of the held curve a drawing takes.
const curvePoints = 200

// clockRun is the work for one implant: measure, search, draw the curve.
func clockRun() (last float64, curve [curvePoints]float64) {
	c, err := growth.New(everything, implantInEverything)
	if err != nil {
		panic(err)
	}
	last = c.Last().DistanceMM
	for k := range curve {
		curve[k] = c.Held(grownAt(k), 1)
	}
	return last, curve
}

// grownAt spreads the points of the curve over the 7.39 mm of the case.
func grownAt(k int) float64 { return 7.39 * float64(k) / curvePoints }

func BenchmarkClock(b *testing.B) {
	for b.Loop() {
		clockRun()
	}
	last, curve := clockRun()
	report(b, last, curve)
}

// BenchmarkGrid does the same on a grid of 0.1 mm, with the exact distance
// transform in linear time, and tells how many times longer it takes.
func BenchmarkGrid(b *testing.B) {
	var last float64
	var curve [curvePoints]float64
	for b.Loop() {
		last, curve = gridRun(everything, implantInEverything, 0.1)
	}
	perGrid := b.Elapsed() / time.Duration(b.N)
	report(b, last, curve)
	const runs = 100
	start := time.Now()
	for range runs {
		clockRun()
	}
	b.ReportMetric(float64(perGrid)*runs/float64(time.Since(start)), "times-the-clock")
}

// report tells the errors against a very fine evaluation.
func report(b *testing.B, last float64, curve [curvePoints]float64) {
	c := newClock(b, everything, implantInEverything)
	distances := surfaceDistances(c, implantInEverything, 4*samples)
	worst := 0.0
	for k, got := range curve {
		worst = max(worst, math.Abs(got-sampledShare(distances, implantInEverything, grownAt(k))))
	}
	b.ReportMetric(math.Abs(last-farthest(c, implantInEverything)), "mm-error")
	b.ReportMetric(worst, "share-error")
}

// farthest looks for the largest distance by climbing from the best of many
// samples with ever smaller steps.
func farthest(c *growth.Clock, i growth.Implant) float64 {
	distance := func(turn, z float64) float64 {
		sin, cos := math.Sincos(2 * math.Pi * turn)
		return c.DistanceMM(i.OffMidlineMM+i.DiameterMM/2*cos, i.AtMM+i.DiameterMM/2*sin, min(max(z, 0), i.GraftedMM()))
	}
	var turn, z, best float64
	for k := range samples {
		a, b := lattice(k, samples)
		if d := distance(a, b*i.GraftedMM()); d > best {
			turn, z, best = a, b*i.GraftedMM(), d
		}
	}
	for step := 0.01; step > 1e-10; step *= 0.8 {
		around, level := turn, z
		for k := range 64 {
			sin, cos := math.Sincos(2 * math.Pi * float64(k) / 64)
			if d := distance(around+step*cos/12, level+step*sin); d > best {
				turn, z, best = around+step*cos/12, level+step*sin, d
			}
		}
	}
	return best
}

// gridRun measures an implant on a grid: bone as voxels, distances by an exact
// transform, the surface and its share from the voxels at its points.
func gridRun(s growth.Sinus, i growth.Implant, size float64) (last float64, curve [curvePoints]float64) {
	reach := i.GraftedMM()
	radius := i.DiameterMM / 2
	low := [3]float64{i.OffMidlineMM - radius - reach, i.AtMM - radius - reach, -size}
	high := [3]float64{i.OffMidlineMM + radius + reach, i.AtMM + radius + reach, 2 * reach}
	var n [3]int
	for k := range n {
		n[k] = int((high[k]-low[k])/size) + 1
	}
	field := make([]float64, n[0]*n[1]*n[2])
	for z := range n[2] {
		height := low[2] + float64(z)*size
		half := s.WidthMM(height) / 2
		for y := range n[1] {
			for u := range n[0] {
				if !isBone(s, half, low[0]+float64(u)*size, low[1]+float64(y)*size, height, size) {
					field[(z*n[1]+y)*n[0]+u] = 1e12
				}
			}
		}
	}
	transform(field, n, size)
	const around, up = 256, 128
	var reached [curvePoints]int
	for a := range around {
		sin, cos := math.Sincos(2 * math.Pi * (float64(a) + 0.5) / around)
		for h := range up {
			point := [3]float64{i.OffMidlineMM + radius*cos, i.AtMM + radius*sin, i.GraftedMM() * (float64(h) + 0.5) / up}
			var at [3]int
			for k := range at {
				at[k] = int(math.Round((point[k] - low[k]) / size))
			}
			d := math.Sqrt(field[(at[2]*n[1]+at[1])*n[0]+at[0]])
			last = max(last, d)
			for k := range curve {
				if d <= grownAt(k) {
					reached[k]++
				}
			}
		}
	}
	for k := range curve {
		curve[k] = 1 - i.GraftedMM()/i.LengthMM*(1-float64(reached[k])/(around*up))
	}
	return last, curve
}

func isBone(s growth.Sinus, half, u, y, z, size float64) bool {
	if z <= 0 {
		return true
	}
	if z > s.GraftTopMM {
		return false
	}
	for _, p := range s.Septa {
		if math.Abs(y-p.AtMM) <= size/2 && z <= p.HeightMM {
			return true
		}
	}
	w := s.Window
	opened := y > w.FromMM && y < w.ToMM && z > w.LowerEdgeMM && z < w.LowerEdgeMM+w.HeightMM
	return u <= -half || u >= half && !opened
}

// transform turns 0 in bone and a large number elsewhere into squared distances,
// one axis after the other.
func transform(field []float64, n [3]int, size float64) {
	stride := [3]int{1, n[0], n[0] * n[1]}
	for axis := range n {
		line := newLine(n[axis])
		for start := range field {
			if start/stride[axis]%n[axis] == 0 {
				line.transform(field, start, stride[axis], size)
			}
		}
	}
}

// line is the lower envelope of parabolas along one line of voxels.
type line struct {
	values []float64
	place  []int
	border []float64
}

func newLine(n int) *line {
	return &line{make([]float64, n), make([]int, n), make([]float64, n+1)}
}

func (l *line) transform(field []float64, start, stride int, size float64) {
	for k := range l.values {
		l.values[k] = field[start+k*stride] / (size * size)
	}
	last := 0
	l.place[0], l.border[0], l.border[1] = 0, math.Inf(-1), math.Inf(1)
	for q := 1; q < len(l.values); q++ {
		cut := l.cut(q, l.place[last])
		for ; cut <= l.border[last]; cut = l.cut(q, l.place[last]) {
			last--
		}
		last++
		l.place[last], l.border[last], l.border[last+1] = q, cut, math.Inf(1)
	}
	at := 0
	for q := range l.values {
		for l.border[at+1] < float64(q) {
			at++
		}
		away := float64(q - l.place[at])
		field[start+q*stride] = (away*away + l.values[l.place[at]]) * size * size
	}
}

// cut is where the parabolas of two voxels cross.
func (l *line) cut(q, p int) float64 {
	return (l.values[q] + float64(q*q) - l.values[p] - float64(p*p)) / float64(2*(q-p))
}
