package eval

import (
	"testing"

	"pgregory.net/rapid"

	"fettle/lang/formula"
)

// chained runs one instruction as a chain.
func chained(op formula.Op, args [][]float64, n int) []float64 {
	k := &kernel{cells: &Cells{RowAxis: -1, Cols: make([]float64, n)}, out: len(args)}
	in := instr{op: op, dst: len(args), node: &formula.Node{}}
	for i, v := range args {
		s := slot{from: fixed, fixed: v, shape: byCol}
		if len(v) == 1 {
			s.shape = scalar
		}
		k.slots, in.args = append(k.slots, s), append(in.args, i)
	}
	k.slots = append(k.slots, slot{shape: byCol, last: 1})
	k.code = []instr{in}
	c := k.chain(0, 1)
	r := running{w: &worker{}, k: k, mem: make([]float64, padded(n))}
	if r.chain(&c, 0, n) {
		return nil
	}
	return r.mem[:n]
}

// Every operation of a chain is that on numbers, bit for bit.
func TestTilesAreCells(t *testing.T) {
	if !useWide {
		t.Skip("there are no chains here")
	}
	ops := []formula.Op{formula.If, formula.Pow}
	for op := range formula.Alias {
		if _, ok := pairs[op]; ok {
			ops = append(ops, op)
		} else if _, ok := singles[op]; ok && op != formula.Pow {
			ops = append(ops, op)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		op, n := rapid.SampledFrom(ops).Draw(t, "op"), rapid.IntRange(2, 40).Draw(t, "n")
		count := 1
		if _, ok := pairs[op]; ok {
			count = 2
		} else if op == formula.If {
			count = 3
		}
		var args [][]float64
		for i := range count {
			size := rapid.SampledFrom([]int{1, n}).Draw(t, "size")
			if i == 0 {
				size = n
			}
			args = append(args, rapid.SliceOfN(rapid.Custom(func(t *rapid.T) float64 { return odd(t, "x") }), size, size).Draw(t, "v"))
		}
		if op == formula.Pow {
			args = append(args, []float64{2})
		}
		got := chained(op, args, n)
		if got == nil {
			if op != formula.Pow {
				t.Fatalf("%s is to be looked at again", op)
			}
			return
		}
		for i, x := range got {
			var v []float64
			for _, a := range args {
				v = append(v, a[i%len(a)])
			}
			if want := formula.Apply(op, v); !same(x, want) {
				t.Fatalf("%s of %v is %v, want %v", op, v, x, want)
			}
		}
	})
}
