package randomly_test

import (
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"

	"fettle/compiler"
	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/plan"
	"fettle/compiler/randomly"
	"fettle/lang/formula"
)

// Every cell is as near to the exact fraction as its 64-bit operations allow.
func TestThirdWayInFractions(t *testing.T) {
	told := figures{}
	over(t, 200, func(rt *rapid.T, tr *trial) {
		tr.again = func(t tester, tr *trial, w *compiler.Workspace) { inFractions(t, tr, w) }
		if _, w := tr.program(rt, randomly.Options{Exact: true}); w != nil {
			told.add(inFractions(rt, tr, w))
		}
	})
	t.Logf("%d cells, %d of them beyond what the bounds can tell; at most %.2g of its bound off; %d within one part in 10^12; %d faults foretold; %d limits judged", told.cells, told.lost, told.worst, told.near, told.faults, told.limits)
	if told.lost*5 > told.cells {
		t.Errorf("of %d cells nothing is known of %d", told.cells, told.lost)
	}
}

// figures say how the comparison went.
type figures struct {
	cells, lost, faults int
	limits              int     // judged
	near                int     // cells that are off by no more than one part in 10^12
	worst               float64 // the largest part of its bound that a cell was off by
}

func (f *figures) add(g figures) {
	f.cells, f.lost, f.faults, f.near, f.limits = f.cells+g.cells, f.lost+g.lost, f.faults+g.faults, f.near+g.near, f.limits+g.limits
	f.worst = max(f.worst, g.worst)
}

// inFractions compares tunes with what they are in fractions, map by map, as far as
// those are known.
func inFractions(t tester, tr *trial, w *compiler.Workspace) (told figures) {
	t.Helper()
	for _, tune := range w.Plan.Tunes[:min(4, len(w.Plan.Tunes))] {
		tr.tunes++
		o := w.Tune(tune, compiler.RunOptions{})
		res, all := o.Result, true
		x := &exact{p: w.Program, env: tune.Conditions(w.Program), maps: make([][]fraction, len(w.Program.Maps))}
		for _, i := range w.Program.Order {
			m := w.Program.Maps[i]
			sure := x.tune(m, tune)
			all = all && sure
			if x.fault {
				told.faults++
				tr.faults++
				if res.Fault == nil || res.Fault.Map != m {
					t.Fatalf("%s\n%s: %s has a fault in fractions; by columns it is %s", tr.text, tune.Name, m.Name, toldOf(res))
				}
				break
			}
			if res.Fault != nil && res.Fault.Map == m {
				if sure {
					t.Fatalf("%s\n%s: %s, and nothing of it in fractions", tr.text, tune.Name, toldOf(res))
				}
				break
			}
			for c, f := range x.maps[i] {
				told.cells++
				got := res.Maps[i].Cells[c]
				if f.is != known {
					told.lost++
					continue
				}
				off, _ := new(big.Rat).Sub(new(big.Rat).SetFloat64(got), f.x).Float64()
				if off = math.Abs(off); off > f.err*(1+64*u) {
					t.Fatalf("%s\n%s: %s, cell %d is %v; in fractions %s, to %g", tr.text, tune.Name, m.Name, c, got, f.x.FloatString(30), f.err)
				}
				if f.err > 0 {
					told.worst = max(told.worst, off/f.err)
				}
				if off <= 1e-12*f.size {
					told.near++
				}
			}
			tr.cells += len(x.maps[i])
		}
		if all && res.Fault == nil {
			told.limits += x.limitsInFractions(t, tr, o)
		}
	}
	return told
}

func toldOf(res *eval.Result) string { return told(res.Fault) }

// tune computes one map: its base, the steps of its rules, the trims, the clamps.
// It says whether all was known on the way; a fault is noted in x.
func (x *exact) tune(m *check.Map, tune *plan.Tune) (sure bool) {
	cells := x.base(m)
	x.maps[m.Index] = cells
	steps := append([]*check.Step(nil), m.Steps...)
	for _, s := range tune.Trims {
		if s.Map == m {
			steps = append(steps, s)
		}
	}
	for _, s := range steps {
		x.maps[m.Index] = x.step(m, s)
		x.infinite(m)
		if x.fault {
			return false
		}
	}
	for _, l := range m.Clamps {
		x.infinite(m)
		x.maps[m.Index] = x.clamp(m, l)
		if x.fault {
			return false
		}
	}
	x.infinite(m)
	for _, f := range x.maps[m.Index] {
		if f.is != known {
			return false
		}
	}
	return !x.fault
}

// infinite finds cells that are infinite whatever the rounding.
func (x *exact) infinite(m *check.Map) {
	for _, f := range x.maps[m.Index] {
		x.fault = x.fault || f.is == infinite
	}
}

// each gives a value for each cell of a map.
func (x *exact) each(m *check.Map, value func(p *place, i int) fraction) []fraction {
	rows := m.Base.Rows
	if rows == nil {
		rows = []float64{0}
	}
	var out []fraction
	for r, y := range rows {
		for c, z := range m.Base.Cols {
			p := &place{x: x, axes: m.Axes, memo: map[*formula.Node]fraction{}}
			if m.Base.Rows == nil {
				p.points, p.at, p.grid = [2]int{c}, []float64{z}, [][]float64{m.Base.Cols}
			} else {
				p.points, p.at, p.grid = [2]int{r, c}, []float64{y, z}, [][]float64{m.Base.Rows, m.Base.Cols}
			}
			out = append(out, value(p, len(out)))
		}
	}
	return out
}

func (x *exact) base(m *check.Map) []fraction {
	if m.Formula != nil {
		return x.each(m, func(p *place, _ int) fraction { return p.eval(m.Formula) })
	}
	return x.each(m, func(p *place, i int) fraction {
		if m.Given[i] {
			return exactly(m.Base.Cells[i])
		}
		return filled(m, p, i)
	})
}

// filled is a blank cell: on the line between the nearest cells on either side in its
// row, or in its column, or as the nearest in its row, or in its column.
func filled(m *check.Map, p *place, i int) fraction {
	nc := len(m.Base.Cols)
	var ends [2][]int
	for k, by := range []int{1, nc} {
		at, n := i%nc, nc
		if k == 1 {
			at, n = i/nc, len(m.Base.Cells)/nc
		}
		for _, way := range []int{-1, 1} {
			for d := way; at+d >= 0 && at+d < n; d += way {
				if j := i + d*by; m.Given[j] {
					ends[k] = append(ends[k], j)
					break
				}
			}
		}
	}
	for k, e := range ends {
		if len(e) < 2 {
			continue
		}
		at := func(j int) float64 { return m.Base.Cols[j%nc] }
		if k == 1 {
			at = func(j int) float64 { return m.Base.Rows[j/nc] }
		}
		return line([]float64{at(e[0]), at(e[1])}, func(n int) fraction { return exactly(m.Base.Cells[e[n]]) }, exactly(at(i)))
	}
	return exactly(m.Base.Cells[append(ends[0], ends[1]...)[0]])
}
