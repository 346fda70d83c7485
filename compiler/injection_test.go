package compiler_test

import (
	"math"
	"testing"

	"fettle/compiler"
	"fettle/compiler/grid"
	"fettle/compiler/plan"
)

// The injection side of examples/tussock is held to plain arithmetic in every
// cell of every tune: from the tables as they are written, rounded, back to the
// fuel that comes and to where it comes.

// tussock is one tune: its tables as they are written, and what its injectors
// have to work with.
type tussock struct {
	name     string
	written  map[string]*grid.Table
	half     map[string]float64 // half a step of each table
	flow     map[string]float64 // of each injector, in mg/ms
	deadTime float64            // ms
	travel   map[string]float64 // how long each one's fuel flies, in ms
}

var injectors = [...]string{"lower", "upper"}

// losses is what an injector loses as it opens, in ms, at 8 to 16 V.
var losses = [...]float64{1.75, 1.44, 1.20, 0.99, 0.82, 0.69, 0.59, 0.52, 0.46}

// tussockOf works a tune's conditions out anew, without the example's formulas.
func tussockOf(t *testing.T, w *compiler.Workspace, o *compiler.Outcome) *tussock {
	t.Helper()
	if o.Result.Fault != nil {
		t.Fatalf("%s: %s", o.Tune.Name, o.Result.Fault.Reason)
	}
	x := &tussock{name: o.Tune.Name, written: map[string]*grid.Table{}, half: map[string]float64{}}
	for i, m := range w.Program.Maps {
		table := o.Result.Maps[i]
		table.Cells = append([]float64(nil), table.Cells...)
		for k, v := range table.Cells {
			table.Cells[k] = m.Res.Round(v)
		}
		x.written[m.Name], x.half[m.Name] = &table, m.Res.Step()/2
	}
	rail := given(t, w, o.Tune, "rail") * 6.894757293168361 // kPa
	density := fuelDensity(t, w, o.Tune)
	volts := given(t, w, o.Tune, "battery") - 8
	k := min(int(volts), len(losses)-2)
	x.deadTime = losses[k] + (volts-float64(k))*(losses[k+1]-losses[k]) + (rail-300)/1000
	scale := math.Sqrt(rail/300) * math.Sqrt(density/745) / 60
	x.flow = map[string]float64{"lower": 150 * scale, "upper": 170 * scale}
	speed := 0.75 * math.Sqrt(2*rail*1000/density) // m/s, which is mm/ms
	x.travel = map[string]float64{"lower": 60 / speed, "upper": 150 / speed}
	return x
}

func given(t *testing.T, w *compiler.Workspace, tune *plan.Tune, name string) float64 {
	t.Helper()
	for i, g := range w.Program.Givens {
		if g.Name == name {
			return tune.Values[i]
		}
	}
	t.Fatalf("no given %s", name)
	return 0
}

func fuelDensity(t *testing.T, w *compiler.Workspace, tune *plan.Tune) float64 {
	t.Helper()
	for i, g := range w.Program.Givens {
		if g.Name == "blend" {
			return map[string]float64{"local91": 738, "e10_95": 748, "pump98": 745, "race102": 728, "oxy104": 741}[plan.Text(g, tune.Values[i])]
		}
	}
	t.Fatal("no given blend")
	return 0
}

// everyTussock runs a function for every tune, and for every cell that all of
// its tables over throttle and rpm have.
func everyTussock(t *testing.T, cell func(x *tussock, i int, rpm float64)) {
	t.Helper()
	w := openExample(t, "tussock")
	tunes, cells := 0, 0
	w.Run(w.Plan.Tunes, compiler.RunOptions{}, func(o *compiler.Outcome) {
		x := tussockOf(t, w, o)
		fuel := x.written["fuel"]
		for i := range fuel.Cells {
			cell(x, i, fuel.Cols[i%len(fuel.Cols)])
			cells++
		}
		tunes++
	})
	if tunes != 192 || cells != 192*16*22 {
		t.Errorf("%d tunes, %d cells", tunes, cells)
	}
}

// Both injectors together give the fuel map's fuel, as far as rounding lets the
// tables: half a step of each.
func TestInjectorsGiveTheFuel(t *testing.T) {
	shared, off, worst := 0, 0, 0.0
	everyTussock(t, func(x *tussock, i int, rpm float64) {
		fuel, lower, upper := x.written["fuel"].Cells[i], x.written["fuel_lower"].Cells[i], x.written["fuel_upper"].Cells[i]
		allowed := x.half["fuel"] + x.half["fuel_lower"] + x.half["fuel_upper"]
		if diff := math.Abs(lower + upper - fuel); diff > allowed+1e-9 {
			t.Errorf("%s, cell %d: %v and %v mg are not %v mg", x.name, i, lower, upper, fuel)
		} else if diff > 1e-9 {
			off++
		}
		if lower <= 0 || upper < 0 {
			t.Errorf("%s, cell %d: %v and %v mg", x.name, i, lower, upper)
		}
		if upper > 0 {
			shared++
		}

		// And so do the open times: half of their steps, at what flows.
		brought, allowed := 0.0, x.half["fuel"]
		for _, name := range injectors {
			flow, open := x.flow[name], x.written["open_"+name].Cells[i]
			if open > 0 {
				brought += (open - x.deadTime) * flow
				allowed += x.half["open_"+name] * flow
			}
			if open != 0 && open < x.deadTime+0.3 {
				t.Errorf("%s, cell %d: the %s injector opens for %v ms, %v of them dead", x.name, i, name, open, x.deadTime)
			}
			if duty := x.written["duty_"+name].Cells[i]; math.Abs(duty-open*rpm/600) > x.half["duty_"+name]+x.half["open_"+name]*rpm/600+1e-9 {
				t.Errorf("%s, cell %d: %v ms at %v rpm are not %v %% of the time", x.name, i, open, rpm, duty)
			}
		}
		worst = max(worst, math.Abs(brought-fuel))
		if math.Abs(brought-fuel) > allowed+1e-9 {
			t.Errorf("%s, cell %d: the open times bring %v mg of %v", x.name, i, brought, fuel)
		}
	})
	t.Logf("%d cells are shared, in %d the three tables differ by a step, the open times by %.4f mg at most", shared, off, worst)
	if shared < 10000 || off == 0 {
		t.Error("the fuel was hardly shared")
	}
}

// The middle of each squirt's fuel comes to the reeds where the map asks for it,
// counted forward from the start that is written.
func TestSquirtsLandWhereTheyAreAsked(t *testing.T) {
	landed, worst := map[string]int{}, 0.0
	everyTussock(t, func(x *tussock, i int, rpm float64) {
		degrees := rpm * 360 / 60000 // a millisecond
		for _, name := range injectors {
			open := x.written["open_"+name].Cells[i]
			if open == 0 {
				continue
			}
			landed[name]++
			first := x.written["start_"+name].Cells[i] + (x.deadTime+x.travel[name])*degrees
			last := first + (open-x.deadTime)*degrees
			asked := line(x.written["centre_lower"], rpm)
			if name == "upper" {
				asked -= line(x.written["stagger"], rpm)
			}
			diff := math.Abs((first+last)/2 - asked)
			worst = max(worst, diff)
			if diff > x.half["start_"+name]+x.half["open_"+name]*degrees/2+1e-9 {
				t.Errorf("%s, cell %d: the %s squirt comes from %v to %v deg, its middle was asked for at %v", x.name, i, name, first, last, asked)
			}
			// All of it goes to one charge.
			shut := line(x.written["reeds_shut"], rpm)
			if first < shut-360 || last > shut {
				t.Errorf("%s, cell %d: the %s squirt comes from %v to %v deg, the reeds shut at %v", x.name, i, name, first, last, shut)
			}
			if squirt := x.written["squirt_"+name].Cells[i]; math.Abs(squirt-open*degrees) > x.half["squirt_"+name]+x.half["open_"+name]*degrees+1e-9 {
				t.Errorf("%s, cell %d: %v ms at %v rpm are not %v deg", x.name, i, open, rpm, squirt)
			}
		}
	})
	t.Logf("%v squirts, %.3f deg off at most", landed, worst)
	if landed["lower"] != 192*16*22 || landed["upper"] < 10000 {
		t.Errorf("%v squirts", landed)
	}
}

// line reads a table over one axis between its points.
func line(table *grid.Table, x float64) float64 {
	k := 0
	for k+2 < len(table.Cols) && table.Cols[k+1] < x {
		k++
	}
	a, b := table.Cols[k], table.Cols[k+1]
	return table.Cells[k] + (min(max(x, a), b)-a)/(b-a)*(table.Cells[k+1]-table.Cells[k])
}
