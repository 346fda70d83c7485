package workload

import "math"

// Hand computes W's tables by loops written for its rules: what depends on the
// cell alone is worked out once, what depends on the tune once a tune, and each
// row is gone over twice, since the look-up needs the row as it was.
type Hand struct {
	rows, cols []float64
	fuel       handMap
	spark      handMap
}

type handMap struct {
	base, hit, bent, part []float64 // by cell: base, factor of the hit, polynomial, weight of the guarded rule
	row                   [24]float64
	lo                    [24]int
	frac                  [24]float64
}

// NewHand works out what doesn't depend on the tune.
func NewHand() *Hand {
	h := &Hand{rows: Rows(), cols: Cols()}
	h.fuel.base, h.spark.base = Fuel(), Spark()
	for _, t := range h.rows {
		for _, n := range h.cols {
			hit := up(n, 8000, 1200) * down(n, 10500, 1200) * up(t, 40, 25)
			low := down(n, 5000, 1500) * down(t, 30, 20)
			x, y := n/10000, t/100
			h.fuel.hit = append(h.fuel.hit, 1+hit*0.04)
			h.spark.hit = append(h.spark.hit, 1+hit*0.04)
			h.fuel.bent = append(h.fuel.bent, 1+0.03*x*y-0.02*x*x+0.01*y*y)
			h.spark.bent = append(h.spark.bent, 1-0.02*x*y+0.01*x*x-0.01*y*y)
			h.fuel.part = append(h.fuel.part, low)
			h.spark.part = append(h.spark.part, hit)
		}
	}
	return h
}

// up is 1 from a value on and falls to 0 over the feather under it; down is its
// mirror.
func up(x, from, feather float64) float64 { return math.Min(1, math.Max(0, 1-(from-x)/feather)) }

func down(x, to, feather float64) float64 { return math.Min(1, math.Max(0, 1-(x-to)/feather)) }

// Tune computes one tune into two tables of 480 cells.
func (h *Hand) Tune(altitude, temp float64, blend Blend, pipe Pipe, fuel, spark []float64) {
	thin := math.Pow(1-altitude/44330, 5.2559) * math.Sqrt(293.15/(temp+273.15))
	shift := pipe.Tuned / Pipes[0].Tuned
	trust := pipe.Trust / Pipes[0].Trust
	cold, hot := 0.0, 0.0
	if temp < 12 {
		cold = 0.08
	}
	if temp > 28 {
		hot = 1.5
	}
	h.knots(shift)
	h.spark.lo, h.spark.frac = h.fuel.lo, h.fuel.frac
	h.fuel.tune(fuel, thin*(Blends[1].Stoich/blend.Stoich)*trust, cold, 21)
	h.spark.tune(spark, thin*(Blends[1].Octane/blend.Octane)*trust, hot, 29.5)
}

func (h *Hand) knots(shift float64) {
	for c, n := range h.cols {
		at := math.Max(h.cols[0], math.Min(n*shift, h.cols[len(h.cols)-1]))
		k := min(int((at-h.cols[0])/500), len(h.cols)-2)
		h.fuel.lo[c], h.fuel.frac[c] = k, (at-h.cols[k])/(h.cols[k+1]-h.cols[k])
	}
}

func (m *handMap) tune(out []float64, k, less, most float64) {
	for i := 0; i < len(out); i += len(m.row) {
		base, hit, bent, part, dst := m.base[i:i+24], m.hit[i:i+24], m.bent[i:i+24], m.part[i:i+24], out[i:i+24]
		for c := range m.row {
			m.row[c] = base[c] * k * hit[c]
		}
		for c := range m.row {
			a := m.row[m.lo[c]]
			x := (a+m.frac[c]*(m.row[m.lo[c]+1]-a))*bent[c] - less*part[c]
			if x > most {
				x = most
			}
			dst[c] = x
		}
	}
}
