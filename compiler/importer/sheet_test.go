package importer

import (
	"strings"
	"testing"

	"fettle/compiler/workbook"
)

func book(t testing.TB, sheets map[string]func(s *workbook.Sheet)) []byte {
	b := workbook.New()
	for _, name := range []string{"Fuel Map 2", "notes"} {
		if fill := sheets[name]; fill != nil {
			fill(b.Sheet(name))
		}
	}
	data, err := b.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func small(s *workbook.Sheet) {
	s.Number(2, 3, 1000, workbook.Look{})
	s.Text(2, 4, "2000", workbook.Look{})
	s.Number(3, 2, 5, workbook.Look{})
	s.Formula(3, 3, "1/4", 0.25, workbook.Look{})
	s.Number(3, 4, -2.5, workbook.Look{})
}

func TestWorkbook(t *testing.T) {
	opt := Options{File: "book.xlsx", Axes: ground(t)}
	one := book(t, map[string]func(*workbook.Sheet){"Fuel Map 2": small})
	r, errs := Import(one, opt)
	if r == nil {
		t.Fatal(text(errs))
	}
	if got := strings.Join(strings.Fields(r.Text), " "); got != `map book { throttle \ rpm | 1000 2000 5 | 0.25 -2.5 }` {
		t.Error(got)
	}
	for _, want := range []string{"1 cell with a formula", "1 number stored as text"} {
		if !strings.Contains(strings.Join(r.Notes, "\n"), want) {
			t.Errorf("%q isn't in %q", want, r.Notes)
		}
	}
	if want := "a workbook, sheet Fuel Map 2, decimal dot, head in row 2, 1 row by 2 columns"; !strings.HasPrefix(r.ReadAs, want) {
		t.Errorf("%q", r.ReadAs)
	}
	two := book(t, map[string]func(*workbook.Sheet){"Fuel Map 2": small, "notes": func(s *workbook.Sheet) { s.Text(1, 1, "hello", workbook.Look{}) }})
	_, errs = Import(two, opt)
	if got := text(errs); !strings.Contains(got, "E910: the workbook has 2 sheets") || !strings.Contains(got, "names one of Fuel Map 2, notes") {
		t.Error(got)
	}
	opt.Sheet = "Fuel Map 2"
	if r, errs = Import(two, opt); r == nil {
		t.Fatal(text(errs))
	}
	if r.Name != "fuel_map_2" {
		t.Errorf("it is called %s", r.Name)
	}
	opt.Sheet = "Fuel"
	if _, errs = Import(two, opt); !strings.Contains(text(errs), "no sheet `Fuel` among its 2") {
		t.Error(text(errs))
	}
}

func TestHundredfold(t *testing.T) {
	for in, want := range map[string]string{"0.05": "5", "0.071": "7.1", "-1.5": "-150", "0": "0", "12": "1200", "0.00001": "0.001", "1e-30": "1e-28"} {
		if got := hundredfold(in); got != want {
			t.Errorf("%s: %s, want %s", in, got, want)
		}
	}
}
