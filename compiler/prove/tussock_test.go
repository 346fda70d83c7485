package prove

import (
	"flag"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"fettle/compiler/interval"
	"fettle/compiler/limit"
	"fettle/examples"
)

var points = flag.Int("points", 100_000, "random points that are held against the proofs")

// tussock is the Tussock's workspace with more limits.
func tussock(t tester, more string) *bench {
	t.Helper()
	list, err := examples.Sources("../../examples/tussock")
	if err != nil {
		t.Fatalf("%v", err)
	}
	// Its own ranges are left out: the tests count the limits that have one.
	list["limits.fettle"] = strings.ReplaceAll(list["limits.fettle"], strings.TrimSuffix(anywhere, "\n"), "") + more
	files := fstest.MapFS{}
	for name, text := range list {
		files[name] = &fstest.MapFile{Data: []byte(text)}
	}
	return load(t, files)
}

const (
	anywhere = " for altitude -100 m..2500 m, air_temp -5 degC..45 degC\n"
	ranges   = "limit ranged_lower_closes: duty_lower <= 85 %" + anywhere +
		"limit ranged_upper_closes: duty_upper <= 85 %" + anywhere +
		"limit ranged_most_spark: spark <= 28 deg" + anywhere
	// Others of its limits, and what they would be between the cells.
	more = "limit ranged_lower_ends: start_lower + squirt_lower + travel_lower <= reeds_shut - 10 deg" + anywhere +
		"limit ranged_lower_begins: start_lower + opening + travel_lower >= reeds_shut - 1 rev" + anywhere +
		"limit ranged_fuel: fuel >= 1 mg" + anywhere +
		"limit ranged_duty: injection.duty(open_lower, rpm, 1 rev) <= 88 %" + anywhere +
		"limit ranged_at_the_cut: injection.duty(open_lower, cut, 1 rev) <= 85 % where rpm >= 14000" + anywhere +
		"limit ranged_knock: spark <= knock_border where throttle >= 85 and rpm >= 10000 when blend.octane < head.wants + 4" + anywhere +
		"limit ranged_hit: step(fuel, rpm) / fuel <= 18.5 %" + anywhere +
		"limit ranged_opens: open_lower >= dead_time + least_spray for battery 11 V..15 V, rail 48 psi..56 psi, humidity 0..100\n"
)

// The Tussock's injectors close, and its spark has a ceiling, at any height and in any
// weather, in every tune.
func TestTussock(t *testing.T) {
	x := tussock(t, ranges)
	for i, tune := range x.plan.Tunes {
		if testing.Short() && i%4 != 0 {
			continue
		}
		for _, v := range x.Tune(tune, 0) {
			if v.State != Proved || !v.HasMargin {
				t.Errorf("%s: %s is %s", tune.Name, v.Limit.Name, show(v))
			}
		}
	}
	if n := len(x.known); n > len(x.plan.Tunes) {
		t.Errorf("%d proofs for %d tunes", n, len(x.plan.Tunes))
	}
}

// A ceiling that the climb breaks is refuted, at the greatest height, with the plain
// evaluator's own numbers.
func TestTussockRefuted(t *testing.T) {
	x := tussock(t, "limit too_low: spark <= 27.9 deg"+anywhere)
	list := x.Tune(x.plan.Find("bench"), 0)
	v := list[slices.IndexFunc(list, func(v *Verdict) bool { return v.Limit.Name == "too_low" })]
	if v.State != Refuted || !v.HasMargin || math.Abs(v.Margin+0.076) > 1e-9 || math.Abs(v.Conditions[0].Value-2500) > 1e-6 || v.Value != 27.976 || v.Bound != 27.9 {
		t.Errorf("it is %s", show(v))
	}
}

// Random points never contradict what is proved: the tune is computed at random
// conditions of the range, and the limit evaluated plainly at random places of the axes.
func TestPointsNeverContradict(t *testing.T) {
	x := tussock(t, ranges+more)
	total := *points
	if testing.Short() {
		total /= 10
	}
	const spots = 40 // for each set of conditions
	r := rand.New(rand.NewPCG(1, 2))
	done, proved := 0, map[string]int{}
	for nth := 0; done < total; nth++ {
		tune := x.plan.Tunes[(nth*37)%min(len(x.plan.Tunes), 24+total/20_000)]
		verdicts := x.Tune(tune, 24)
		for i, v := range verdicts {
			l := x.limits[i]
			s, _ := x.session(nil, l, tune)
			p := &proving{session: s, l: l}
			values := make([]float64, len(s.dims))
			for k, d := range s.dims {
				values[k] = somewhere(r, d.Lo, d.Hi)
			}
			sp := p.spot(values, nth%200 == 0)
			if sp.problem != "" {
				if v.State == Proved {
					t.Fatalf("%s: %s is %s, and at %v the tune fails: %s", tune.Name, l.Name, show(v), values, sp.problem)
				}
				continue
			}
			done += spots
			if v.State == Refuted || !v.HasMargin {
				continue
			}
			proved[l.Name]++
			part := limit.Split(l.Cond)[0]
			for range spots {
				f := sp.look(values, place2(r, l))
				if f.broken && v.State == Proved || f.part >= 0 && f.room < v.Margin*part.Size-1e-9*math.Abs(f.bound*part.Size) {
					t.Fatalf("%s: %s is %s, and at %v %v the room is %v (%v, %v)", tune.Name, l.Name, show(v), values, f.at, f.room, f.value, f.bound)
				}
			}
		}
	}
	if len(proved) < 9 {
		t.Errorf("bounds were held against points for %v alone", proved)
	}
	t.Log(done, proved)
}

// somewhere is a number of a range, its ends now and then.
func somewhere(r *rand.Rand, lo, hi float64) float64 {
	switch r.IntN(12) {
	case 0:
		return lo
	case 1:
		return hi
	}
	return min(lo+r.Float64()*(hi-lo), hi)
}

func place2(r *rand.Rand, l *limitCode) [2]float64 {
	along := func(points []float64) float64 {
		if len(points) == 0 {
			return 0
		}
		if l.steps || r.IntN(6) == 0 {
			return points[r.IntN(len(points))]
		}
		i := r.IntN(max(len(points)-1, 1))
		return somewhere(r, points[i], points[min(i+1, len(points)-1)])
	}
	return [2]float64{along(l.cells.Rows), along(l.cells.Cols)}
}

// The boxes of a tune hold what the evaluator computes, cell by cell.
func TestTussockBoxes(t *testing.T) {
	x := tussock(t, ranges+more)
	r := rand.New(rand.NewPCG(3, 4))
	for n := range 40 {
		tune := x.plan.Tunes[(n*41)%len(x.plan.Tunes)]
		l := x.limits[n%len(x.limits)]
		s, _ := x.session(nil, l, tune)
		span := make([]interval.I, len(s.dims))
		size := []float64{1, 0.2, 0.01}[n%3]
		for k, d := range s.dims {
			lo := somewhere(r, d.Lo, d.Hi)
			span[k] = interval.I{Lo: lo, Hi: min(lo+size*(d.Hi-d.Lo), d.Hi)}
		}
		s.base = x.p.Tune(s.mix(s.at(middle(span))), s.options(l, false))
		b, _ := s.box(span, l.total)
		if !b.need(l.need) {
			if size < 0.1 {
				t.Errorf("%s: it may fail in %v", tune.Name, span)
			}
			continue
		}
		for range 5 {
			values := make([]float64, len(span))
			for k, x := range span {
				values[k] = somewhere(r, x.Lo, x.Hi)
			}
			holdsCells(t, b, l, values)
		}
	}
}

func BenchmarkTussock(b *testing.B) {
	for b.Loop() {
		x := tussock(b, ranges)
		for _, tune := range x.plan.Tunes {
			x.Tune(tune, 0)
		}
	}
}
