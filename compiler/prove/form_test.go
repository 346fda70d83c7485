package prove

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"fettle/compiler/interval"
	"fettle/lang/formula"
)

// tracked is a form with the number that it is about where the symbols have some
// values.
type tracked struct {
	form
	v float64
}

// Whatever the symbols are, the number that comes of numbers lies in the form that
// comes of their forms: in the interval, and on the line to within the error.
func TestFormsHoldNumbers(t *testing.T) {
	for range 30 { // each is quick
		rapid.Check(t, holdsNumbers)
	}
}

func holdsNumbers(t *rapid.T) {
	var at [symbols]float64
	for k := range ownSymbol {
		at[k] = rapid.SampledFrom([]float64{-1, 1, 0, -0.5, 0.25, 1, -1}).Draw(t, "symbol")
	}
	var list []tracked
	add := func(f form, v float64, what string) {
		if f.bad || v-v != 0 {
			return
		}
		line, off := f.c, f.e+math.Abs(f.a[ownSymbol])
		for k := range ownSymbol {
			line += f.a[k] * at[k]
		}
		if !f.Has(v) || math.Abs(v-line) > off+1e-14*(math.Abs(f.c)+f.linear()) {
			t.Fatalf("%s: %v isn't in %+v, whose line is at %v", what, v, f, line)
		}
		list = append(list, tracked{f, v})
	}
	number := func() float64 { return float64(rapid.IntRange(-40, 40).Draw(t, "n")) / 8 }
	for k := firstCondition; k < ownSymbol; k++ {
		a, b := number(), number()
		f := ranged(interval.I{Lo: min(a, b), Hi: max(a, b)})
		if f.IsPoint() {
			add(f, a, "a number")
			continue
		}
		f.a[k], f.e = f.e, 0
		add(f, f.c+f.a[k]*at[k], "a condition")
	}
	list = append(list, tracked{point(2.5), 2.5}, tracked{point(-1), -1})
	pick := func() *tracked { return &list[rapid.IntRange(0, len(list)-1).Draw(t, "which")] }
	joins := uint32(0)
	for range rapid.IntRange(1, 8).Draw(t, "steps") {
		x, y := *pick(), *pick()
		var f form
		switch op := rapid.IntRange(0, 13).Draw(t, "op"); op {
		case 0:
			f.add(&x.form, &y.form, 1)
			add(f, x.v+y.v, "+")
		case 1:
			f.add(&x.form, &y.form, -1)
			add(f, x.v-y.v, "-")
		case 2, 3:
			f.mul(&x.form, &y.form)
			add(f, float64(x.v*y.v), "*")
		case 4:
			f.div(&x.form, &y.form)
			add(f, x.v/y.v, "/")
		case 5:
			f.max(&x.form, &y.form, 1)
			add(f, max(x.v, y.v), "max")
		case 6:
			f.max(&x.form, &y.form, -1)
			add(f, min(x.v, y.v), "min")
		case 7:
			f.abs(&x.form)
			add(f, math.Abs(x.v), "abs")
		case 8, 9:
			one := formula.Op(rapid.SampledFrom([]formula.Op{formula.Sqrt, formula.Exp, formula.Log, formula.Round, formula.Floor, formula.Ceil}).Draw(t, "function"))
			f.function(one, []*form{&x.form})
			add(f, formula.Apply(one, []float64{x.v}), "a function")
		case 10:
			f.function(formula.Pow, []*form{&x.form, &y.form})
			add(f, formula.Apply(formula.Pow, []float64{x.v, y.v}), "^")
		case 11:
			joins++
			f.join(&x.form, &y.form, joins)
			add(f, rapid.SampledFrom([]float64{x.v, y.v}).Draw(t, "either"), "either")
		case 12:
			by := rapid.SampledFrom([]float64{0.25, 0.5, 0.9}).Draw(t, "way")
			f.between(&x.form, &y.form, by)
			add(f, x.v+float64(by*(y.v-x.v)), "between")
		case 13: // a patch, told by the axes alone from then on
			z, w := *pick(), *pick()
			level := func(r *tracked) bool { return r.a[rowSymbol] == 0 && r.a[colSymbol] == 0 }
			if !level(&x) || !level(&y) || !level(&z) || !level(&w) {
				continue
			}
			f.patch(&[2][2]*form{{&x.form, &y.form}, {&z.form, &w.form}})
			r, c := (at[rowSymbol]+1)/2, (at[colSymbol]+1)/2
			top, low := x.v+float64(c*(y.v-x.v)), z.v+float64(c*(w.v-z.v))
			add(f, top+float64(r*(low-top)), "a patch")
		}
	}
}
