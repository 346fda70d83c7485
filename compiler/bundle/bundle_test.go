package bundle_test

import (
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"

	"fettle/compiler/bundle"
	"fettle/compiler/check"
	"fettle/compiler/plan"
	"fettle/compiler/resolve"
	"fettle/compiler/table"
	"fettle/lang/diag"
)

const ground = `
axis throttle [%]  0..100
axis rpm     [rpm] 1000..14000
given wet = no
given pipe from pipes = stock
given altitude [m] = 40
catalog pipes {
  name  | tuned [rpm]
  stock | 9000
  wide  | 8000
}
map fuel [mg] {
  throttle \ rpm | 1000 3000
  0              |    1    2
  100            |    3    4
}
map spark [deg] like fuel = 20 deg
map heat [degC] like fuel = 20 degC
variant a { }
variant b { wet = yes }
variant c {
  pipe     = wide
  altitude = 820 m
}
`

// programOf reads the ground with a bundle.
func programOf(t *testing.T, text string) (*check.Program, *plan.Bundle) {
	t.Helper()
	errs := &diag.List{}
	p := check.Run(resolve.Load(fstest.MapFS{"tune.fettle": {Data: []byte(ground + text)}}, errs), errs)
	all := plan.Run(p, errs)
	if errs.HasErrors() || len(all.Bundles) != 1 {
		t.Fatalf("%s\n%v, %d bundles", text, errs.Sorted()[0], len(all.Bundles))
	}
	return p, all.Bundles[0]
}

// at makes a table of the fuel map over breakpoints of its own.
func at(name, mapName, unit string, rows, cols []float64, cells ...float64) table.Table {
	t := table.Table{Name: name, Map: mapName, Unit: unit, Cols: table.Axis{Name: "rpm", Unit: "rpm", Points: cols}, Cells: cells}
	if rows != nil {
		t.Rows = table.Axis{Name: "throttle", Unit: "%", Points: rows}
	}
	return t
}

func TestReasons(t *testing.T) {
	rpm := []float64{1000, 3000}
	fuel := func(cells ...float64) []table.Table {
		return []table.Table{at("fuel", "fuel", "mg", nil, rpm, cells...)}
	}
	for _, c := range []struct {
		name, text string
		tables     [][]table.Table
		want       []string
	}{
		{"alike", "bundle x {\n differs wet\n 1 = a\n 2 = b\n jump fuel = 1 %\n}", [][]table.Table{fuel(1, 2), fuel(1, 2)}, nil},
		{"at the allowance, and a share of the smaller value", "bundle x {\n differs wet\n 1 = a\n 2 = b\n jump fuel = 25 %\n}", [][]table.Table{fuel(1, 4), fuel(1, 5)}, nil},
		{"past it by the smaller value alone", "bundle x {\n differs wet\n 1 = a\n 2 = b\n jump fuel = 20 %\n}", [][]table.Table{fuel(1, 4), fuel(1, 5)},
			[]string{"fuel jumps by 25 %, from 4 mg in slot 1 to 5 mg in slot 2 at rpm 3000, more than the 20 % of its `jump`; 1 of 2 points is past it (tune.fettle:29)"}},
		{"an amount, down", "bundle x {\n differs wet\n 1 = a\n 2 = b\n jump fuel = 0.5 mg\n}", [][]table.Table{fuel(2, 4), fuel(1, 3.2)},
			[]string{"fuel jumps by 1 mg, from 2 mg in slot 1 to 1 mg in slot 2 at rpm 1000, more than the 0.5 mg of its `jump`; 2 of 2 points are past it (tune.fettle:29)"}},
		{"from nothing", "bundle x {\n differs wet\n 1 = a\n 2 = b\n jump fuel = 50 %\n}", [][]table.Table{fuel(0, 4), fuel(0.1, 5.9)},
			[]string{"fuel jumps by more than any share, since one of the values is 0, from 0 mg in slot 1 to 0.1 mg in slot 2 at rpm 1000, more than the 50 % of its `jump`; 1 of 2 points is past it (tune.fettle:29)"}},
		{"other givens", "bundle x {\n differs pipe\n 1 = a\n 2 = c\n 3 = b\n}", [][]table.Table{fuel(1, 2), fuel(1, 2), fuel(1, 2)},
			[]string{"wet is no in slot 1, no in slot 2, yes in slot 3, and the slots may differ only in pipe (tune.fettle:25)",
				"altitude is 40 m in slot 1, 820 m in slot 2, 40 m in slot 3, and the slots may differ only in pipe (tune.fettle:25)"}},
		{"nothing may differ", "bundle x {\n 1 = a\n 2 = b\n}", [][]table.Table{fuel(1, 2), fuel(1, 2)},
			[]string{"wet is no in slot 1, yes in slot 2, and the slots may differ only in what a `differs` names, and there is none (tune.fettle:25)"}},
		{"a slot that isn't written", "bundle x {\n differs wet\n 1 = a\n 2 = b\n 3 = a\n jump fuel = 10 %\n}", [][]table.Table{fuel(1, 2), nil, fuel(1, 3)},
			[]string{"slot 2 is b, which isn't written",
				"fuel jumps by 50 %, from 2 mg in slot 1 to 3 mg in slot 3 at rpm 3000, more than the 10 % of its `jump`; 1 of 2 points is past it (tune.fettle:30)"}},
		{"only one is left", "bundle x {\n differs wet\n 1 = a\n 2 = b\n jump fuel = 10 %\n}", [][]table.Table{nil, fuel(1, 2)}, []string{"slot 1 is a, which isn't written"}},
	} {
		p, b := programOf(t, c.text)
		o := bundle.Judge(p, b, c.tables)
		if d := cmp.Diff(c.want, o.Reasons(p)); d != "" || o.Fails() != (len(c.want) > 0) {
			t.Errorf("%s: fails is %v (-want +got)\n%s", c.name, o.Fails(), d)
		}
	}
}

// Tables over other breakpoints are compared at those of both: here the largest
// jump is at one that only the second has.
func TestUnion(t *testing.T) {
	p, b := programOf(t, "bundle x {\n differs wet\n 1 = a\n 2 = b\n jump fuel = 0.5 mg\n}")
	o := bundle.Judge(p, b, [][]table.Table{
		{at("t", "fuel", "mg", []float64{0, 100}, []float64{1000, 3000}, 1, 3, 2, 4)},
		{at("t", "fuel", "mg", []float64{0, 50, 100}, []float64{1000, 2000, 3000}, 1, 2, 3, 1.5, 3.5, 3.5, 2, 3, 4)},
	})
	j := o.Jumps[0]
	if j.Points != 9 || j.Past != 1 || j.Size != 1 || j.PlaceText() != "throttle 50 %, rpm 2000" || j.Values != [2]float64{2.5, 3.5} {
		t.Errorf("%+v at %s", j, j.PlaceText())
	}
}

// A difference of temperatures is in K, and each table of a map is judged.
func TestTemperatures(t *testing.T) {
	p, b := programOf(t, "target ecu {\n table low = heat as f32\n table high = heat as f32\n}\nbundle x for ecu {\n differs wet\n 1 = a\n 2 = b\n jump heat = 5 K\n}")
	rpm := []float64{1000}
	o := bundle.Judge(p, b, [][]table.Table{
		{at("low", "heat", "degC", nil, rpm, 20), at("high", "heat", "degC", nil, rpm, 80)},
		{at("low", "heat", "degC", nil, rpm, 24), at("high", "heat", "degC", nil, rpm, 87)},
	})
	got := strings.Join(o.Reasons(p), "\n")
	if want := "high jumps by 7 K, from 80 degC in slot 1 to 87 degC in slot 2 at rpm 1000, more than the 5 K of its `jump`; 1 of 1 points is past it (tune.fettle:33)"; got != want {
		t.Errorf("got %s", got)
	}
}
