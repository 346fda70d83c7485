package eval

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// The weight at exact edges, worked by hand.
func TestWeight(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct {
		e       ends
		x, want float64
	}{
		// 6000..8500 feather 500
		{ends{6000, 8500, 500, true, true}, 6000, 1}, {ends{6000, 8500, 500, true, true}, 8500, 1}, {ends{6000, 8500, 500, true, true}, 7000, 1}, {ends{6000, 8500, 500, true, true}, 5750, 0.5}, {ends{6000, 8500, 500, true, true}, 8625, 0.75},
		{ends{6000, 8500, 500, true, true}, 5500, 0}, {ends{6000, 8500, 500, true, true}, 9000, 0}, {ends{6000, 8500, 500, true, true}, 5499, 0}, {ends{6000, 8500, 500, true, true}, 9001, 0}, {ends{6000, 8500, 500, true, true}, 5501, 0.002},
		// ..7000 feather 500, and 9000..
		{ends{0, 7000, 500, false, true}, -inf, 1}, {ends{0, 7000, 500, false, true}, 7000, 1}, {ends{0, 7000, 500, false, true}, 7250, 0.5}, {ends{0, 7000, 500, false, true}, 7500, 0},
		{ends{9000, 0, 500, true, false}, inf, 1}, {ends{9000, 0, 500, true, false}, 9000, 1}, {ends{9000, 0, 500, true, false}, 8750, 0.5}, {ends{9000, 0, 500, true, false}, 8500, 0},
		// Without a feather, at once; the next number outside has none.
		{ends{1, 2, 0, true, true}, 1, 1}, {ends{1, 2, 0, true, true}, 2, 1}, {ends{1, 2, 0, true, true}, math.Nextafter(1, 0), 0}, {ends{1, 2, 0, true, true}, math.Nextafter(2, 3), 0},
		// A range of one point.
		{ends{3, 3, 0, true, true}, 3, 1}, {ends{3, 3, 2, true, true}, 2, 0.5}, {ends{3, 3, 2, true, true}, 4, 0.5}, {ends{3, 3, 2, true, true}, 5, 0},
		// The feather's end, where 1 - 0.9 is a little less than 0.1.
		{ends{1, 0, 0.1, true, false}, 0.9, 0}, {ends{0, 0.3, 0.1, false, true}, 0.4, 0}, {ends{0.3, 0, 0.2, true, false}, 0.1, 0},
	} {
		if got := c.e.weight(c.x); !near(got, c.want) {
			t.Errorf("%+v at %v: %v, want %v", c.e, c.x, got, c.want)
		}
	}
	nan := math.NaN()
	for _, c := range []struct {
		e     ends
		wrong bool
	}{
		{ends{1, 2, 0, true, true}, false}, {ends{2, 2, 0, true, true}, false}, {ends{2, 1, 0, true, true}, true}, {ends{2, 1, 0, true, false}, false}, {ends{1, 2, -1, true, true}, true},
		{ends{nan, 2, 0, true, true}, true}, {ends{1, nan, 0, true, true}, true}, {ends{1, 2, nan, true, true}, true},
	} {
		if got := c.e.wrong(); (got != "") != c.wrong {
			t.Errorf("%+v: %q", c.e, got)
		}
	}
}

const overGround = `
axis rpm [rpm] 0..10000
axis throttle [%] 0..100
axis head [degC] -20..200
given from_here [rpm] = 4000
given wide [rpm] = 2000
map two {
  throttle \ rpm | 0 1000 2000 3000 4000
  0   | 0 0 0 0 0
  50  | 0 0 0 0 0
  100 | 0 0 0 0 0
}
map one {
  rpm | 0 1000 2000 3000 4000
      | 0 0 0 0 0
}
map hot {
  head | 0 20 40
       | 0 0 0
}
region mid = rpm 2000..3000 feather 2000, throttle 100.. feather 100
variant bench { }
variant other { from_here = 1000 }
`

// The weights of ranges multiply, whether they stand in a region, beside each
// other, or on one axis.
func TestOver(t *testing.T) {
	for _, c := range []struct {
		m, over string
		want    []float64
	}{
		{"one", "rpm 2000..3000", []float64{0, 0, 1, 1, 0}},
		{"one", "rpm ..1 [rev/s]", []float64{1, 0, 0, 0, 0}},
		{"one", "rpm 3000.. feather 4000", []float64{0.25, 0.5, 0.75, 1, 1}},
		{"one", "rpm from_here.. feather wide", []float64{0, 0, 0, 0.5, 1}},
		{"one", "rpm (from_here - 1000 rpm)..3000 feather (wide / 2)", []float64{0, 0, 0, 1, 0}},
		{"one", "rpm ..2000 feather 4000, rpm 2000.. feather 4000", []float64{0.5, 0.75, 1, 0.75, 0.5}},
		{"two", "rpm 2000.. feather 4000", []float64{0.5, 0.75, 1, 1, 1, 0.5, 0.75, 1, 1, 1, 0.5, 0.75, 1, 1, 1}},
		{"two", "throttle 50 %..", []float64{0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1}},
		{"two", "mid", []float64{0, 0, 0, 0, 0, 0, 0.25, 0.5, 0.5, 0.25, 0, 0.5, 1, 1, 0.5}},
		{"two", "mid, rpm ..2000", []float64{0, 0, 0, 0, 0, 0, 0.25, 0.5, 0, 0, 0, 0.5, 1, 0, 0}},
		{"two", "mid, mid", []float64{0, 0, 0, 0, 0, 0, 0.0625, 0.25, 0.25, 0.0625, 0, 0.25, 1, 1, 0.25}},
		{"hot", "head 40 degC.. feather 40", []float64{0, 0.5, 1}},
		{"hot", "head 104 degF.. feather 40 K", []float64{0, 0.5, 1}},
		{"hot", "head 313.15 K.. feather (40 degC - 0 degC)", []float64{0, 0.5, 1}},
	} {
		b := lower(t, overGround+fmt.Sprintf("rule r { %s += 1 over %s }", c.m, c.over))
		b.expect(t, b.run(t, "bench", Options{}), c.m, c.want...)
	}
	// With a place that a tune moves; one that ends before it begins fails it.
	b := lower(t, overGround+
		"rule r { one += 1 over rpm 1500..from_here }")
	b.expect(t, b.run(t, "bench", Options{}), "one", 0, 0, 1, 1, 1)
	if f := b.run(t, "other", Options{}).Fault; f == nil || f.Span.Text() != "rpm 1500..from_here" || !strings.Contains(f.Reason, "ends before it begins") || f.Step == nil || f.Cell != -1 {
		t.Errorf("the fault is %+v", f)
	}
	b = lower(t, overGround+"rule r { one += 1 over rpm 1500.. feather (wide - from_here) }")
	if f := b.run(t, "bench", Options{}).Fault; f == nil || !strings.Contains(f.Reason, "negative") {
		t.Errorf("the fault is %+v", f)
	}
}

// RangeWeight is the same weight, asked for one place.
func TestRangeWeight(t *testing.T) {
	b := lower(t, overGround+"rule r { one += 1 over rpm from_here.. feather wide }")
	w := &b.Check.Rules[0].Steps[0].Over[0]
	env := b.plan.Find("bench").Conditions(b.Check)
	for x, want := range map[float64]float64{4000: 1, 3000: 0.5, 2000: 0, 9000: 1} {
		if got := RangeWeight(w, env, x); got != want {
			t.Errorf("at %v rpm: %v, want %v", x, got, want)
		}
	}
}

// Weights of three ranges that differ from tune to tune, worked out in the memory
// of those of two.
func TestThreeRangesAfterTwo(t *testing.T) {
	b := lower(t, `
axis x [degC] -27.5..82.5
axis y [%] -2.5..107.5
given g [degC] = -25
map line [%] { x | -22.5 -20 -17.5 -10 -2.5
               | 10 10 10 10 10 }
map wide [mg] {
  x \ y | 17.5 20 40
  -22.5 | 7 -1.5 0.5
  -10   | 1 2 3
}
region all = x g.., x -22.5..
rule first { wide -= 50 % over all }
rule second { line -= 50 % over all, x -2.5.. }
rule third { wide += 1 mg over all, x -10.., y 20..20 }
variant bench { }
`)
	res := b.run(t, "bench", Options{Count: true})
	b.expect(t, res, "wide", 3.5, -0.75, 0.25, 0.5, 2, 1.5)
	b.expect(t, res, "line", 10, 10, 10, 10, -40)
}
