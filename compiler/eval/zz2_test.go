package eval

import (
	"testing"

	"fettle/lang/formula"
)

func BenchmarkZZ(b *testing.B) {
	for _, n := range []int{4, 13, 320} {
		v := make([]float64, n)
		u := make([]float64, n)
		for i := range v {
			v[i], u[i] = 1.5, 1.25
		}
		b.Run("asm", func(b *testing.B) {
			for b.Loop() {
				mulVV(&v[0], &u[0], &u[0], 1, n, 0, 0, 0)
			}
		})
		b.Run("table", func(b *testing.B) {
			for b.Loop() {
				kernels[vv][formula.Mul](&v[0], &u[0], &u[0], 1, n, 0, 0, 0)
			}
		})
		b.Run("wide", func(b *testing.B) {
			for b.Loop() {
				arithWide(formula.Mul, vv, Column{v, 0, 1}, Column{u, 0, 1}, Column{u, 0, 1}, 1, n)
			}
		})
		b.Run("arith", func(b *testing.B) {
			for b.Loop() {
				arith(formula.Mul, Column{v, 0, 1}, Column{u, 0, 1}, Column{u, 0, 1}, 1, n)
			}
		})
	}
}
