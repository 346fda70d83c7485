package workload

import (
	"fmt"
	"math"
	"strings"
	"testing/fstest"
)

// Tail is a row of the mixed workload's catalogue of pipes.
type Tail struct {
	Name    string
	Tuned   float64 // mm
	A, B, C float64 // how it bends the fuel
	Peak    float64 // rpm
	Room    float64 // how much spark it leaves
}

// Mix is a row of its catalogue of fuels.
type Mix struct {
	Name                   string
	Dense, Oxygen, Ceiling float64
}

// The catalogues.
var (
	Tails = []Tail{{"plain", 740, 0.02, -0.015, 0.01, 9000, 1}, {"long", 766, 0.031, -0.022, 0.004, 8300, 0.94}, {"short", 721, -0.012, 0.02, 0.015, 10150, 1.07}, {"fat", 748, 0.018, 0.012, -0.02, 8800, 0.98}, {"thin", 733, -0.02, 0.03, 0.011, 9450, 1.02}}
	Mixes = []Mix{{"valley", 738, 0.97, 30}, {"pump", 745, 1, 31}, {"drum", 728, 1.03, 33.5}, {"oxy", 761, 1.09, 34}}

	mixedRows = []float64{0, 1.5, 3, 5, 8, 12, 17, 22, 28, 35, 43, 52, 61, 71, 81, 91, 100}
	mixedCols = []float64{1800, 2900, 3900, 4800, 5700, 6600, 7400, 8200, 9000, 9800, 10700, 11900, 13400}
	topPoints = []float64{1800, 3900, 4800, 6600, 7400, 9000, 9800, 11900, 13400}
	topCells  = []float64{30, 31, 32, 31.5, 29, 26.5, 25, 24, 22.5}
)

// mixedTrims are those of the two matrices: what is added to the fuel, from which
// rpm on; and to the spark, everywhere.
var mixedTrims = []struct{ Share, From, Spark float64 }{{2, 10000, -0.5}, {-1.5, 6000, 0.25}}

const (
	mixedGround = `# Invented numbers, to measure with. Not for an engine.
axis throttle [%]   0..100
axis rpm      [rpm] 1000..15000
given altitude [m]    = 0  within -400..10000
given air_temp [degC] = 20 within -20..50
given humidity [%]    = 40 within 0..100
given wet = no
given mix  from mixes = pump
given tail from tails = plain
`
	mixedRules = `
let shift = tail.tuned / tails.plain.tuned
let thin = exp(0 - altitude / 8400 m) * sqrt(293.15 / ((air_temp - 0 degC) / 1 K + 273.15))
region idle = rpm ..2500 feather 2000, throttle ..4 feather 6
region pipe_on = rpm (7600 rpm * shift)..(10100 rpm * shift) feather 1300, throttle 45.. feather 25
rule air      { fuel *= thin }
rule dense    { fuel /= mix.dense / mixes.pump.dense over rpm 3000.. feather 1500 }
rule bent     { fuel *= 1 + tail.a * (rpm / 10000 rpm) + tail.b * (rpm / 10000 rpm) * (throttle / 100 %) + tail.c * (rpm / 10000 rpm) ^ 2 }
rule on_pipe  {
  fuel += 0.45 mg over pipe_on
  fuel += 3 % over rpm tail.peak.. feather 1500
}
rule peaky    { fuel *= 1 + 0.06 * exp(0 - ((rpm - tail.peak) / 1700 rpm) ^ 2) * sqrt(throttle / 100 %) }
rule moved    { fuel = fuel(throttle * 1.04, rpm * shift) }
rule damp when humidity > 55 { fuel -= 0.02 mg * (humidity - 55 %) / 1 % * sqrt(fuel / 10 mg) }
rule soaked when wet { fuel += 2.5 % where spark < 24 and throttle > 20 }
rule frost when air_temp < 8 { fuel += 0.06 mg * (8 degC - air_temp) / 1 K over rpm ..5000 feather 2500 }
rule stay     { fuel = 1.6 mg + 0.25 mg * (throttle / 10 %) over idle }
limit fuel_most: 1.2 mg <= fuel <= 17.5 mg else clamp

rule s_oxygen { spark *= mix.oxygen }
rule s_thin   { spark += (1 - thin) * 9 deg over throttle 30.. feather 30 }
rule s_pipe   { spark -= 2.2 deg over pipe_on }
rule s_far    { spark -= 0.4 deg * abs(rpm - tail.peak) / 2000 rpm where throttle >= 50 }
rule s_hot when air_temp > 27 { spark -= 0.12 deg * (air_temp - 27 degC) / 1 K over throttle 50.. feather 25 }
rule t_room   { top *= tail.room }
rule t_mix    { top = mix.ceiling * 1 deg over rpm ..4000 feather 2500 }
rule t_wet when wet { top -= 1 deg }
limit spark_most: spark <= top else clamp
`
)

func mixedFuel() []float64 {
	var out []float64
	for r := range mixedRows {
		for c := range mixedCols {
			out = append(out, float64(130+r*(92-(c-8)*(c-8))+7*c)/100)
		}
	}
	return out
}

func mixedSpark() []float64 {
	var out []float64
	for r := range mixedRows {
		for c := range mixedCols {
			out = append(out, float64(305-4*r-5*c-c*r/9)/10)
		}
	}
	return out
}

// MixedFiles is the workspace of the mixed workload: two matrices of 960 tunes with
// trims of their own; two maps of 17 by 13 cells and one of 9, which caps one of
// them; regions that move, guards, masks, curves by rpm.
func MixedFiles() fstest.MapFS {
	var s strings.Builder
	s.WriteString(mixedGround)
	s.WriteString("catalog tails {\n  name | tuned [mm] | a | b | c | peak [rpm] | room\n")
	var tails, mixes []string
	for _, p := range Tails {
		fmt.Fprintf(&s, "  %s | %v | %v | %v | %v | %v | %v\n", p.Name, p.Tuned, p.A, p.B, p.C, p.Peak, p.Room)
		tails = append(tails, p.Name)
	}
	s.WriteString("}\ncatalog mixes {\n  name | dense [kg/m^3] | oxygen | ceiling\n")
	for _, m := range Mixes {
		fmt.Fprintf(&s, "  %s | %v | %v | %v\n", m.Name, m.Dense, m.Oxygen, m.Ceiling)
		mixes = append(mixes, m.Name)
	}
	s.WriteString("}\n")
	gridOver(&s, "fuel [mg] to 0.01", mixedRows, mixedCols, mixedFuel())
	gridOver(&s, "spark [deg] to 0.1", mixedRows, mixedCols, mixedSpark())
	gridOver(&s, "top [deg] to 0.1", nil, topPoints, topCells)
	s.WriteString(mixedRules)
	for i, t := range mixedTrims {
		fmt.Fprintf(&s, "variants m%d {\n  mix = %s\n  tail = %s\n  wet = no, yes\n  altitude =%s\n  air_temp = -6, 5, 19, 34\n  humidity = 30, 70\n", i, strings.Join(mixes, ", "), strings.Join(tails, ", "), list(steps(0, 450, 3), ","))
		fmt.Fprintf(&s, "  trim fuel += %v %% over rpm %v.. feather 1200\n  trim spark += %v deg\n}\n", t.Share, t.From, t.Spark)
	}
	return fstest.MapFS{"tune.fettle": {Data: []byte(s.String())}}
}

// MixedWeather is what a tune of the mixed workload is for, beside its rows.
type MixedWeather struct {
	Altitude, Temp, Humidity float64
	Wet                      bool
}

// Mixed computes the mixed workload by loops written for its rules.
type Mixed struct {
	fuel, spark, top []float64
	dense, frost     []float64 // by column: weights that every tune has
	idle             []float64 // by column
	idleRow, stay    []float64 // by row: the weight, and what is set
	on, thin, hot    []float64 // by row: weights
	root             []float64 // by row: the root of the throttle
	row              []knot
	topWeight        []float64
	topAt            []knot // where a column stands in top
	trim             [2][]float64

	// Of the tune, by column.
	scale, bend, part, share, far, ceiling, ends []float64
	col                                          []knot
	before                                       []float64
}

// NewMixed works out what doesn't depend on the tune.
func NewMixed() *Mixed {
	m := &Mixed{fuel: mixedFuel(), spark: mixedSpark(), top: topCells, before: make([]float64, len(mixedRows)*len(mixedCols)), ends: make([]float64, len(mixedCols))}
	for _, n := range mixedCols {
		m.dense, m.frost, m.idle = append(m.dense, up(n, 3000, 1500)), append(m.frost, down(n, 5000, 2500)), append(m.idle, down(n, 2500, 2000))
		m.topAt = append(m.topAt, place(topPoints, n))
		for i, t := range mixedTrims {
			m.trim[i] = append(m.trim[i], 1+t.Share/100*up(n, t.From, 1200))
		}
	}
	for _, t := range mixedRows {
		m.idleRow, m.stay = append(m.idleRow, down(t, 4, 6)), append(m.stay, 1.6+0.025*t)
		m.on, m.thin, m.hot = append(m.on, up(t, 45, 25)), append(m.thin, up(t, 30, 30)), append(m.hot, up(t, 50, 25))
		m.root, m.row = append(m.root, math.Sqrt(t/100)), append(m.row, place(mixedRows, t*1.04))
	}
	for _, n := range topPoints {
		m.topWeight = append(m.topWeight, down(n, 4000, 2500))
	}
	n := len(mixedCols)
	for _, v := range []*[]float64{&m.scale, &m.bend, &m.part, &m.share, &m.far, &m.ceiling} {
		*v = make([]float64, n)
	}
	m.col = make([]knot, n)
	return m
}

// Tables makes room for a tune's tables.
func (m *Mixed) Tables() (fuel, spark, top []float64) {
	return make([]float64, len(m.fuel)), make([]float64, len(m.spark)), make([]float64, len(m.top))
}

// MixedTune gives what a tune is computed with, from its name and its givens by
// name: which of the two matrices it belongs to, the weather, its rows.
func MixedTune(name string, value func(string) float64) (which int, at MixedWeather, mix Mix, tail Tail) {
	if strings.HasPrefix(name, "m1/") {
		which = 1
	}
	at = MixedWeather{value("altitude"), value("air_temp"), value("humidity"), value("wet") != 0}
	return which, at, Mixes[int(value("mix"))], Tails[int(value("tail"))]
}

// Tune computes one tune: which is the matrix that it belongs to.
func (m *Mixed) Tune(which int, at MixedWeather, mix Mix, tail Tail, fuel, spark, top []float64) {
	thin := math.Exp(-at.Altitude/8400) * math.Sqrt(293.15/(at.Temp+273.15))
	shift := tail.Tuned / Tails[0].Tuned
	dense := Mixes[1].Dense/mix.Dense - 1
	for c, n := range mixedCols {
		x := n / 10000
		d := (n - tail.Peak) / 1700
		m.scale[c] = thin * (1 + m.dense[c]*dense) // but for the part that the throttle has
		m.bend[c] = 0.06 * math.Exp(-d*d)
		m.part[c] = up(n, 7600*shift, 1300) * down(n, 10100*shift, 1300)
		m.share[c] = 1 + 0.03*up(n, tail.Peak, 1500)
		m.far[c] = 0.4 * math.Abs(n-tail.Peak) / 2000
		m.ends[c] = 1 + tail.A*x + tail.C*x*x
		m.col[c] = place(mixedCols, n*shift)
	}
	m.tops(at.Wet, mix, tail, top)
	m.sparks(which, at, thin, mix, spark)
	width := len(mixedCols)
	for r, t := range mixedRows {
		base, out := m.fuel[r*width:(r+1)*width], m.before[r*width:(r+1)*width]
		on, root, y := 0.45*m.on[r], m.root[r], tail.B*t/1e6
		scale, bend, part, share, ends := m.scale[:len(base)], m.bend[:len(base)], m.part[:len(base)], m.share[:len(base)], m.ends[:len(base)]
		cols := mixedCols[:len(base)]
		for c, x := range base {
			out[c] = (x*scale[c]*(ends[c]+y*cols[c]) + on*part[c]) * share[c] * (1 + bend[c]*root)
		}
	}
	damp, frost, wet := 0.0, 0.0, 1.0
	if at.Humidity > 55 {
		damp = 0.02 * (at.Humidity - 55)
	}
	if at.Temp < 8 {
		frost = 0.06 * (8 - at.Temp)
	}
	if at.Wet {
		wet = 1.025
	}
	trim := m.trim[which][:width]
	for r, k := range m.row {
		next := min(k.i+1, len(m.row)-1)
		above, under := m.before[k.i*width:(k.i+1)*width], m.before[next*width:(next+1)*width]
		out, lit := fuel[r*width:(r+1)*width], spark[r*width:(r+1)*width]
		soaked, idleRow, stay := mixedRows[r] > 20, m.idleRow[r], m.stay[r]
		idle, cold, lit := m.idle[:len(out)], m.frost[:len(out)], lit[:len(out)]
		for c, at := range m.col[:len(out)] {
			a := above[at.i] + at.f*(above[at.i+1]-above[at.i])
			b := under[at.i] + at.f*(under[at.i+1]-under[at.i])
			x := a + k.f*(b-a)
			if damp > 0 {
				x -= damp * math.Sqrt(x/10)
			}
			if soaked && lit[c] < 24 {
				x *= wet
			}
			x += frost * cold[c]
			x += idleRow * idle[c] * (stay - x)
			out[c] = max(1.2, min(17.5, x*trim[c]))
		}
	}
}

// tops computes the map that caps the spark.
func (m *Mixed) tops(wet bool, mix Mix, tail Tail, top []float64) {
	less := 0.0
	if wet {
		less = 1
	}
	for i, x := range m.top {
		x *= tail.Room
		top[i] = x + m.topWeight[i]*(mix.Ceiling-x) - less
	}
	for c, k := range m.topAt {
		m.ceiling[c] = top[k.i] + k.f*(top[k.i+1]-top[k.i])
	}
}

// sparks computes the spark.
func (m *Mixed) sparks(which int, at MixedWeather, thin float64, mix Mix, spark []float64) {
	hot := 0.0
	if at.Temp > 27 {
		hot = 0.12 * (at.Temp - 27)
	}
	width := len(mixedCols)
	for r := range mixedRows {
		base, out := m.spark[r*width:(r+1)*width], spark[r*width:(r+1)*width]
		more, on, far := mixedTrims[which].Spark+(1-thin)*9*m.thin[r]-hot*m.hot[r], 2.2*m.on[r], 0.0
		if mixedRows[r] >= 50 {
			far = 1
		}
		part, farther, ceiling := m.part[:len(base)], m.far[:len(base)], m.ceiling[:len(base)]
		for c, x := range base {
			out[c] = min(ceiling[c], x*mix.Oxygen+more-on*part[c]-far*farther[c])
		}
	}
}
