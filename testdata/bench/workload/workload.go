// Package workload writes the source that the benchmarks compute, and computes
// the same tables by loops that a person would write for just these rules.
//
// W(N) is N tunes of two maps of 20 throttle rows by 24 rpm columns, with eight
// rules to each: a product with a power of altitude and temperature, two ratios
// of catalogue values, 4 % over a feathered region, a look-up of the map itself
// at other revs, a polynomial of rpm and throttle, a guarded subtraction over a
// region, a clamp. All numbers are invented.
//
// Two more are as unlike it as tunes can be, so that the evaluator isn't cut to one:
// most of derived's maps are formulas of others (derived.go), and mixed has grids of
// odd sizes and rules of every kind, with regions that move (mixed.go).
//
// In: N. Out: the files of a workspace; the tables. For benchmarks and tests.
package workload

import (
	"fmt"
	"strings"
	"testing/fstest"
)

// Blend and Pipe are the rows of the catalogues.
type (
	Blend struct {
		Name           string
		Stoich, Octane float64
	}
	Pipe struct {
		Name         string
		Tuned, Trust float64
	}
)

// The catalogues.
var (
	Blends = []Blend{{"local91", 14.5, 91}, {"pump98", 14.6, 98}, {"race102", 14.4, 102}, {"oxy104", 13.7, 104}}
	Pipes  = []Pipe{{"stock", 740, 1}, {"long", 762, 1.02}, {"short", 724, 0.97}, {"wide", 744, 0.99}, {"cone", 735, 1.01}}
)

// Rows and Cols are the breakpoints: throttle in per cent, rpm.
func Rows() []float64 {
	out := make([]float64, 20)
	for i := range out {
		out[i] = float64(i*i) * 100 / 361
	}
	for i := range out {
		out[i] = float64(int(out[i]*10)) / 10
	}
	return out
}

// Cols gives the rpm breakpoints.
func Cols() []float64 {
	out := make([]float64, 24)
	for i := range out {
		out[i] = 2500 + 500*float64(i)
	}
	return out
}

// Fuel and Spark are the bases, row by row, with two and one decimals.
func Fuel() []float64 {
	var out []float64
	for r := range 20 {
		for c := range 24 {
			hump := 60 - (c-15)*(c-15)/5
			out = append(out, float64(150+r*(hump+7)+c)/100)
		}
	}
	return out
}

// Spark gives the second map's base.
func Spark() []float64 {
	var out []float64
	for r := range 20 {
		for c := range 24 {
			out = append(out, float64(270-3*r-4*c-(c*r)/12)/10)
		}
	}
	return out
}

// Size gives how many altitudes and temperatures make n tunes; n is a multiple of
// 20, the number of fuels and pipes.
func Size(n int) (altitudes, temps int) {
	n /= len(Blends) * len(Pipes)
	altitudes = 1
	for a := 1; a*a <= n; a++ {
		if n%a == 0 {
			altitudes = a
		}
	}
	return altitudes, n / altitudes
}

// Altitude and Temp are the values of the matrix.
func Altitude(i int) float64 { return float64(5 * i) }

// Temp gives the i-th of n air temperatures in degrees Celsius, from -10 up.
func Temp(i, n int) float64 { return float64(500*i/n)/10 - 10 }

// Files is the workspace of W(n).
func Files(n int) fstest.MapFS {
	alts, temps := Size(n)
	list := func(n int, f func(int) float64, unit string) string {
		var out []string
		for i := range n {
			out = append(out, fmt.Sprintf("%v %s", f(i), unit))
		}
		return strings.Join(out, ", ")
	}
	var names []string
	for _, b := range Blends {
		names = append(names, b.Name)
	}
	blends := strings.Join(names, ", ")
	names = nil
	for _, p := range Pipes {
		names = append(names, p.Name)
	}
	var s strings.Builder
	s.WriteString(head)
	s.WriteString("catalog fuels {\n  name | stoich | octane\n")
	for _, b := range Blends {
		fmt.Fprintf(&s, "  %s | %v | %v\n", b.Name, b.Stoich, b.Octane)
	}
	s.WriteString("}\ncatalog pipes {\n  name | tuned [mm] | trust\n")
	for _, p := range Pipes {
		fmt.Fprintf(&s, "  %s | %v | %v\n", p.Name, p.Tuned, p.Trust)
	}
	s.WriteString("}\n")
	grid(&s, "fuel [mg] to 0.01", Fuel())
	grid(&s, "spark [deg] to 0.1", Spark())
	s.WriteString(rules)
	fmt.Fprintf(&s, "variants w {\n  blend = %s\n  pipe = %s\n  altitude = %s\n  air_temp = %s\n}\n",
		blends, strings.Join(names, ", "), list(alts, Altitude, "m"), list(temps, func(i int) float64 { return Temp(i, temps) }, "degC"))
	return fstest.MapFS{"tune.fettle": {Data: []byte(s.String())}}
}

func grid(s *strings.Builder, name string, cells []float64) {
	fmt.Fprintf(s, "map %s {\n  throttle \\ rpm |", name)
	cols := Cols()
	for _, c := range cols {
		fmt.Fprintf(s, " %v", c)
	}
	for r, at := range Rows() {
		fmt.Fprintf(s, "\n  %v |", at)
		for c := range cols {
			fmt.Fprintf(s, " %v", cells[r*len(cols)+c])
		}
	}
	s.WriteString("\n}\n")
}

const head = `# Invented numbers, to measure with. Not for an engine.
axis throttle [%]   0..100
axis rpm      [rpm] 1000..15000
given altitude [m]    = 0  within -400..10000
given air_temp [degC] = 20 within -20..50
given blend from fuels = pump98
given pipe  from pipes = stock
`

const rules = `
let shift = pipe.tuned / pipes.stock.tuned
let thin = (1 - altitude / 44330 m) ^ 5.2559 * (293.15 / ((air_temp - 0 degC) / 1 K + 273.15)) ^ 0.5
region hit = rpm 8000..10500 feather 1200, throttle 40.. feather 25
region low = rpm ..5000 feather 1500, throttle ..30 feather 20
rule air_mass { fuel *= thin }
rule burns    { fuel *= fuels.pump98.stoich / blend.stoich }
rule pipes_on { fuel *= pipe.trust / pipes.stock.trust }
rule the_hit  { fuel += 4 % over hit }
rule moved    { fuel = fuel(throttle, rpm * shift) }
rule bent     { fuel *= 1 + 0.03 * (rpm / 10000 rpm) * (throttle / 100 %) - 0.02 * (rpm / 10000 rpm) ^ 2 + 0.01 * (throttle / 100 %) ^ 2 }
rule cold when air_temp < 12 { fuel -= 0.08 mg over low }
limit fuel_most: fuel <= 21 mg else clamp

rule s_air_mass { spark *= thin }
rule s_burns    { spark *= fuels.pump98.octane / blend.octane }
rule s_pipes_on { spark *= pipe.trust / pipes.stock.trust }
rule s_the_hit  { spark += 4 % over hit }
rule s_moved    { spark = spark(throttle, rpm * shift) }
rule s_bent     { spark *= 1 - 0.02 * (rpm / 10000 rpm) * (throttle / 100 %) + 0.01 * (rpm / 10000 rpm) ^ 2 - 0.01 * (throttle / 100 %) ^ 2 }
rule s_hot when air_temp > 28 { spark -= 1.5 deg over hit }
limit spark_most: spark <= 29.5 deg else clamp
`
