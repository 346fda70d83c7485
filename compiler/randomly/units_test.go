package randomly_test

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fettle/compiler/check"
	"fettle/compiler/plan"
	"fettle/compiler/randomly"
	"fettle/lang/diag"
	"fettle/lang/source"
	"fettle/lang/syntax"
	"fettle/lang/unit"
)

// The same quantity in another unit moves no cell by more than one part in 10^12,
// or by what the changed operations may be off by.
func TestUnitsMeanNothing(t *testing.T) {
	swapped, moved, bounded, lost := 0, 0, 0, 0
	over(t, changed, func(rt *rapid.T, tr *trial) {
		_, w := tr.program(rt, randomly.Options{Exact: true})
		if w == nil {
			return
		}
		text, n := otherUnits(rt, tr.text)
		swapped += n
		if n == 0 {
			return
		}
		is := one(text).open()
		if is.Diags.HasErrors() {
			if tr.refusedBy(rt, is) {
				return
			}
		}
		var last *plan.Tune
		var a, b *exact
		near := func(tune *plan.Tune, m, cell int, x, y float64) bool {
			moved++
			if math.Abs(x-y) <= 1e-12*max(math.Abs(x), math.Abs(y)) {
				return true
			}
			if tune != last {
				last = tune
				a = inFraction(w.Program, tune)
				b = inFraction(is.Program, is.Plan.Tunes[tune.Index])
			}
			f, g := a.maps[m][cell], b.maps[m][cell]
			if f.is != known || g.is != known {
				lost++
				return true
			}
			bounded++
			return math.Abs(x-y) <= (f.err+g.err)*(1+64*u)
		}
		// A fault that hangs on a last bit may come and go.
		unsure := func(tune *plan.Tune) bool { return inFraction(w.Program, tune).unsure }
		unmoved(rt, tr, w, one(text), change{naming: randomly.AsDeclared, near: near, unsure: unsure, steps: true})
	})
	t.Logf("%d quantities written in another unit; %d cells moved, of which %d by more than one part in 10^12 and within their bounds, and of %d no bounds are known", swapped, moved, bounded, lost)
	if swapped == 0 {
		t.Error("no quantity was written in another unit")
	}
}

// inFraction computes all maps of a tune in fractions, with constants that may be off
// by their last bits.
func inFraction(p *check.Program, tune *plan.Tune) *exact {
	x := &exact{p: p, env: tune.Conditions(p), maps: make([][]fraction, len(p.Maps)), rough: true}
	for _, i := range p.Order {
		if !x.tune(p.Maps[i], tune) {
			x.unsure = true
		}
	}
	return x
}

// otherUnits writes some of a source's quantities in other units of their kind. Those
// that come back to the very bits when they are converted, so that what is compared
// with them stays on its side of them.
func otherUnits(rt *rapid.T, text string) (string, int) {
	f := source.New("tune.fettle", text)
	pieces, _ := syntax.Tokens(f, &diag.List{})
	var b strings.Builder
	at, n := 0, 0
	for _, toks := range pieces {
		for i := 0; i+1 < len(toks); i++ {
			num, u := toks[i], toks[i+1] // but for resolutions, and the end of a range, whose unit serves both ends
			if num.Kind != syntax.Number || u.Kind != syntax.Unit && u.Kind != syntax.Word {
				continue
			}
			before := i - 1
			if before > 0 && toks[before].Text == "-" {
				before--
			}
			if before >= 0 && (toks[before].Text == "to" || toks[before].Text == "..") {
				continue
			}
			list := sameQuantity(num.Text, strings.Trim(u.Text, "[]"))
			if len(list) == 0 || !rapid.Bool().Draw(rt, "other") {
				continue
			}
			b.WriteString(text[at:num.From] + rapid.SampledFrom(list).Draw(rt, "unit"))
			at = u.To()
			n++
		}
	}
	return b.String() + text[at:], n
}

// sameQuantity lists other ways to write a quantity.
func sameQuantity(number, of string) (out []string) {
	from, err := unit.Parse(of)
	if err != nil || of == "%" || from.IsPoint() || of == "K" {
		return nil
	}
	v, err := strconv.ParseFloat(number, 64)
	if err != nil {
		return nil
	}
	for _, to := range unit.Names() {
		other, err := unit.Parse(to)
		if err != nil || other.Dim != from.Dim || other.IsPoint() || to == of {
			continue
		}
		there, err1 := unit.NewConv(from, other)
		back, err2 := unit.NewConv(other, from)
		if err1 != nil || err2 != nil {
			continue
		}
		x := there.Apply(v)
		if x < 0 || x > 1e9 || x != 0 && x < 1e-6 || back.Apply(x) != v {
			continue
		}
		out = append(out, written(x)+" ["+to+"]")
	}
	slices.Sort(out)
	return out
}

// written is a number's shortest text without an exponent.
func written(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
