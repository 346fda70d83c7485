package workload

import (
	"fmt"
	"math"
	"strings"
	"testing/fstest"
)

// Injector is a row of the derived workload's catalogue.
type Injector struct {
	Name string
	Flow float64 // g/min
	Late float64 // how its dead time compares with the curve
}

// Injectors is that catalogue.
var Injectors = []Injector{{"slim", 140, 0.92}, {"mid", 175, 1}, {"wide", 215, 1.08}, {"twin", 260, 1.17}}

// What the derived workload is made of.
var (
	derivedRows   = []float64{0, 2, 4, 7, 10, 15, 20, 26, 33, 41, 50, 60, 70, 80, 90, 100}
	derivedCols   = steps(2000, 650, 20)
	lambdaRows    = []float64{0, 8, 22, 45, 72, 100}
	lambdaCols    = []float64{1500, 3200, 4900, 6600, 8300, 10000, 11700, 13400, 15000}
	sharedPoints  = []float64{2000, 4500, 6000, 7500, 9000, 10500, 12500}
	sharedCells   = []float64{0.4, 1.1, 2.3, 3.2, 4.4, 4.9, 5.2} // mg, of the second injector
	closedPoints  = []float64{8, 10, 12, 13, 14, 16}
	closedCells   = []float64{1.7, 1.22, 0.95, 0.84, 0.755, 0.62}
	derivedBlend  = []float64{9.2, 10.4, 11.6, 12.8, 13.6, 14.4, 15.2} // volts of the matrix
	derivedMaps   = []string{"fuel", "lambda", "begins", "wanted", "behind", "front", "rear", "front_duty", "rear_duty", "front_start", "most"}
	endDeg        = 310.0
	derivedGround = `# Invented numbers, to measure with. Not for an engine.
use injection
axis throttle [%]   0..100
axis rpm      [rpm] 1000..15000
given battery  [V]    = 13.5 within 8..16
given air_temp [degC] = 20 within -20..50
given first  from injectors = slim
given second from injectors = wide
`
	derivedRules = `
fn cooled(mass [mg] within 0..60, temp [degC] within -30..60) [mg] = mass * (1 + 0.002 * (20 degC - temp) / 1 K)
let front_dead [ms] = closed(battery) * first.late
let rear_dead  [ms] = closed(battery) * second.late
map wanted [mg] like fuel = cooled(fuel, air_temp) / lambda
map behind [mg] like fuel = if throttle > 12 and wanted > begins then clamp((wanted - begins) * 0.75, 0 mg, wanted * 60 %) else 0 mg
map front  [ms] like fuel = injection.open_time(wanted - behind, first.flow, front_dead)
map rear   [ms] like fuel = injection.open_time(behind, second.flow, rear_dead)
map front_duty  [%]   like fuel = injection.duty(front, rpm, 1 rev)
map rear_duty   [%]   like fuel = injection.duty(rear, rpm, 1 rev)
map front_start [deg] like fuel = injection.start_for_end(310 deg, front, rpm)
map most        [%]   like fuel = min(max(front_duty, rear_duty), 100 %)
rule cold when air_temp < 10 { lambda -= 0.002 * (10 degC - air_temp) / 1 K over throttle ..30 feather 30 }
limit lambda_window: 0.85 <= lambda <= 1.01 else clamp
`
)

func steps(from, by float64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = from + by*float64(i)
	}
	return out
}

// DerivedMaps are the names of the maps in the order of Derived.Tune's tables.
func DerivedMaps() []string { return derivedMaps }

func derivedFuel() []float64 {
	var out []float64
	for r := range derivedRows {
		for c := range derivedCols {
			out = append(out, float64(210+r*(95-(c-12)*(c-12)/2)+3*c)/100)
		}
	}
	return out
}

func derivedLambda() []float64 {
	var out []float64
	for r := range lambdaRows {
		for c := range lambdaCols {
			out = append(out, float64(1020-22*r-3*c-r*c)/1000)
		}
	}
	return out
}

// DerivedFiles is the workspace of the derived workload: 1400 tunes, of a map of
// fuel by grid, one of lambda with other breakpoints, one by rpm alone, and eight
// that are formulas of these and of each other.
func DerivedFiles() fstest.MapFS {
	var s strings.Builder
	s.WriteString(derivedGround)
	s.WriteString("catalog injectors {\n  name | flow [g/min] | late\n")
	var names []string
	for _, j := range Injectors {
		fmt.Fprintf(&s, "  %s | %v | %v\n", j.Name, j.Flow, j.Late)
		names = append(names, j.Name)
	}
	s.WriteString("}\ncurve closed [ms] {\n  battery [V] |" + list(closedPoints, "") + "\n |" + list(closedCells, "") + "\n}\n")
	gridOver(&s, "fuel [mg] to 0.01", derivedRows, derivedCols, derivedFuel())
	gridOver(&s, "lambda to 0.001", lambdaRows, lambdaCols, derivedLambda())
	gridOver(&s, "begins [mg] to 0.01", nil, sharedPoints, sharedCells)
	s.WriteString(derivedRules)
	fmt.Fprintf(&s, "variants d {\n  first = %s\n  second = wide, twin\n  battery =%s\n  air_temp =%s\n}\n", strings.Join(names, ", "), list(derivedBlend, ","), list(steps(-12, 2.2, 25), ","))
	return fstest.MapFS{"tune.fettle": {Data: []byte(s.String())}}
}

// list writes numbers with something between them.
func list(v []float64, between string) string {
	var s strings.Builder
	for i, x := range v {
		if i > 0 {
			s.WriteString(between)
		}
		fmt.Fprintf(&s, " %v", math.Round(x*1e6)/1e6)
	}
	return s.String()
}

// gridOver writes a map's declaration; without rows, of a map over rpm alone.
func gridOver(s *strings.Builder, name string, rows, cols, cells []float64) {
	if rows == nil {
		fmt.Fprintf(s, "map %s {\n  rpm |%s\n  |%s\n}\n", name, list(cols, ""), list(cells, ""))
		return
	}
	fmt.Fprintf(s, "map %s {\n  throttle \\ rpm |%s\n", name, list(cols, ""))
	for r, at := range rows {
		fmt.Fprintf(s, "  %v |%s\n", at, list(cells[r*len(cols):(r+1)*len(cols)], ""))
	}
	s.WriteString("}\n")
}

// Derived computes the derived workload by loops written for its formulas: all of
// a cell's maps in one pass. What lambda is between its breakpoints is found along
// its rows first, then in the pass.
type Derived struct {
	fuel, lambda []float64
	begins       []float64 // by column
	duty, turn   []float64 // by column: % and degrees for each ms
	open         int       // the first row where the second injector may open
	cold         []float64 // by row of lambda: the weight of the rule
	row, col     []knot    // where a row or column stands in lambda
	along        []float64 // lambda's rows at our columns
}

type knot struct {
	i int
	f float64
}

// DerivedTables are a tune's tables, in the order of DerivedMaps.
type DerivedTables struct {
	Fuel, Lambda, Begins, Wanted, Behind, Front, Rear, FrontDuty, RearDuty, FrontStart, Most []float64
}

// All gives them in one list.
func (t *DerivedTables) All() [][]float64 {
	return [][]float64{t.Fuel, t.Lambda, t.Begins, t.Wanted, t.Behind, t.Front, t.Rear, t.FrontDuty, t.RearDuty, t.FrontStart, t.Most}
}

// NewDerived works out what doesn't depend on the tune.
func NewDerived() *Derived {
	d := &Derived{fuel: derivedFuel(), lambda: derivedLambda(), along: make([]float64, len(lambdaRows)*len(derivedCols))}
	for _, n := range derivedCols {
		d.begins = append(d.begins, between(sharedPoints, sharedCells, n))
		d.duty = append(d.duty, n/600)
		d.turn = append(d.turn, n*0.006)
		d.col = append(d.col, place(lambdaCols, n))
	}
	for _, t := range derivedRows {
		if t <= 12 {
			d.open++
		}
		d.row = append(d.row, place(lambdaRows, t))
	}
	for _, t := range lambdaRows {
		d.cold = append(d.cold, down(t, 30, 30))
	}
	return d
}

// Tables makes room for a tune's tables.
func (d *Derived) Tables() *DerivedTables {
	n := len(d.fuel)
	room := func() []float64 { return make([]float64, n) }
	return &DerivedTables{d.fuel, make([]float64, len(d.lambda)), sharedCells, room(), room(), room(), room(), room(), room(), room(), room()}
}

// place finds the breakpoint at or under a value, and how far it is to the next.
func place(points []float64, x float64) knot {
	x = max(points[0], min(x, points[len(points)-1]))
	i := 0
	for i < len(points)-2 && points[i+1] <= x {
		i++
	}
	return knot{i, (x - points[i]) / (points[i+1] - points[i])}
}

// between looks a line of points up.
func between(points, cells []float64, x float64) float64 {
	k := place(points, x)
	return cells[k.i] + k.f*(cells[k.i+1]-cells[k.i])
}

// DerivedTune gives what a tune of it is computed with, from its givens by name.
func DerivedTune(value func(string) float64) (battery, temp float64, first, second Injector) {
	return value("battery"), value("air_temp"), Injectors[int(value("first"))], Injectors[int(value("second"))]
}

// Tune computes one tune into tables.
func (d *Derived) Tune(battery, temp float64, first, second Injector, out *DerivedTables) {
	d.lambdas(temp, out.Lambda)
	dead := between(closedPoints, closedCells, battery)
	deadA, deadB := dead*first.Late, dead*second.Late
	perA, perB := 60/first.Flow, 60/second.Flow
	cold := 1 + 0.002*(20-temp)
	width := len(d.begins)
	for r, k := range d.row {
		at, to := r*width, (r+1)*width
		fuel, above, under := d.fuel[at:to], d.along[k.i*width:(k.i+1)*width], d.along[(k.i+1)*width:(k.i+2)*width]
		above, under = above[:len(fuel)], under[:len(fuel)]
		begins, perDuty, perTurn := d.begins[:len(fuel)], d.duty[:len(fuel)], d.turn[:len(fuel)]
		wanted, behind, front, rear := out.Wanted[at:to][:len(fuel)], out.Behind[at:to][:len(fuel)], out.Front[at:to][:len(fuel)], out.Rear[at:to][:len(fuel)]
		frontDuty, rearDuty := out.FrontDuty[at:to][:len(fuel)], out.RearDuty[at:to][:len(fuel)]
		start, most := out.FrontStart[at:to][:len(fuel)], out.Most[at:to][:len(fuel)]
		for c, x := range fuel {
			x = x * cold / (above[c] + k.f*(under[c]-above[c]))
			second, a, b := 0.0, 0.0, 0.0
			if r >= d.open && x > begins[c] {
				second = min((x-begins[c])*0.75, x*0.6)
			}
			if first := x - second; first > 0 {
				a = first*perA + deadA
			}
			if second > 0 {
				b = second*perB + deadB
			}
			dutyA, dutyB := a*perDuty[c], b*perDuty[c]
			wanted[c], behind[c], front[c], rear[c] = x, second, a, b
			frontDuty[c], rearDuty[c], start[c] = dutyA, dutyB, endDeg-a*perTurn[c]
			most[c] = min(max(dutyA, dutyB), 100)
		}
	}
}

// lambdas computes lambda at its own breakpoints, and along its rows at ours.
func (d *Derived) lambdas(temp float64, lambda []float64) {
	less := 0.0
	if temp < 10 {
		less = 0.002 * (10 - temp)
	}
	width := len(lambdaCols)
	for r, w := range d.cold {
		row, base := lambda[r*width:(r+1)*width], d.lambda[r*width:(r+1)*width]
		for c, x := range base {
			row[c] = max(0.85, min(1.01, x-less*w))
		}
		along := d.along[r*len(d.col) : (r+1)*len(d.col)]
		for c, k := range d.col {
			along[c] = row[k.i] + k.f*(row[k.i+1]-row[k.i])
		}
	}
}
