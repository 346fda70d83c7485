package diff

import (
	"errors"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

func TestText(t *testing.T) {
	golden(t, "bench.txt", text(t, workspace(t, bench).diff(t, "home", "away"), TextOptions{}))
	golden(t, "same.txt", text(t, workspace(t, bench).diff(t, "home", "home"), TextOptions{}))
	w := example(t, "first")
	golden(t, "first.txt", text(t, w.diff(t, "home", "frosty_hill"), TextOptions{}))
	w = example(t, "lantern")
	golden(t, "lantern.txt", text(t, w.diff(t, "ridge/1000ft-pump91-95degF", "salt_stage"), TextOptions{}))
	w = example(t, "tussock")
	r := w.diff(t, "season/stock-club-pump98-820m", "season/long-club-pump98-820m")
	golden(t, "tussock.txt", text(t, r, TextOptions{Width: 100}))
	golden(t, "tussock-cells.txt", text(t, r, TextOptions{Cells: true}))
	golden(t, "tussock-color.txt", text(t, r, TextOptions{Width: 80, Color: true}))
}

var escape = regexp.MustCompile("\x1b\\[[0-9;]*m")

// Grids keep to the width, and with colours every shaded cell has its sign.
func TestTextFolds(t *testing.T) {
	r := example(t, "tussock").diff(t, "season/stock-club-pump98-820m", "season/long-club-pump98-820m")
	for _, w := range []int{40, 80, 100, 160} {
		for _, color := range []bool{false, true} {
			for _, l := range strings.Split(text(t, r, TextOptions{Width: w, Color: color}), "\n") {
				if n := width(escape.ReplaceAllString(l, "")); n > w && strings.Contains(l, "→") && !strings.HasPrefix(l, "  worst") && !strings.HasPrefix(l, "  by share") {
					t.Errorf("width %d: %d characters in %q", w, n, l)
				}
			}
		}
	}
	plain := text(t, r, TextOptions{Width: 80})
	colored := text(t, r, TextOptions{Width: 80, Color: true})
	if escape.MatchString(plain) {
		t.Error("colours where none are wanted")
	}
	shaded := regexp.MustCompile("\x1b\\[[0-9;]+m([^\x1b]*)\x1b\\[0m").FindAllStringSubmatch(colored, -1)
	if len(shaded) == 0 {
		t.Fatal("nothing is shaded")
	}
	for _, s := range shaded {
		f := strings.Fields(s[1])
		if len(f) != 4 || f[1] != "→" || f[3] != map[bool]string{true: "+", false: "-"}[decimal(t, f[0]) < decimal(t, f[2])] {
			t.Errorf("a shaded cell reads %q", s[1])
		}
	}
	// Every cell that differs stands in the text if all are wanted.
	all := text(t, r, TextOptions{Cells: true})
	n := 0
	for _, m := range r.Pairs[0].Maps {
		n += len(m.Cells)
		if m.Differs() {
			n++ // the line of the worst cell
		}
		if m.Summary.HasShare && Percent(m.Cells[m.Summary.Worst].Share) != Percent(m.Cells[m.Summary.WorstShare].Share) {
			n++ // and of the worst by share
		}
	}
	if got := strings.Count(all, "→") - len(r.Pairs[0].Conditions); got != n {
		t.Errorf("%d cells are shown, want %d", got, n)
	}
}

func decimal(t *testing.T, text string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Error(err)
	}
	return x
}

func TestTheWorstMapComesFirst(t *testing.T) {
	// spark changes by 2 of 40, fuel by 1 of 10, the third can't be compared.
	one := []float64{1}
	odd := table("odd", "mg", one, one)
	odd.Cols.Name = "volts"
	r := Tables(side("a", table("same", "mg", one, one), table("spark", "deg", one, []float64{40}), table("fuel", "mg", one, []float64{10}), table("odd", "mg", one, one)),
		side("b", table("same", "mg", one, one), table("spark", "deg", one, []float64{38}), table("fuel", "mg", one, []float64{9}), odd))
	got := text(t, r, TextOptions{})
	last := 0
	for _, want := range []string{"\nodd [mg]", "\nfuel [mg]", "\nspark [deg]", "\nequal       same"} {
		at := strings.Index(got, want)
		if at < last {
			t.Fatalf("%q is out of order in\n%s", want, got)
		}
		last = at
	}
}

// block cuts the lines of one map out of a report.
func block(t *testing.T, text, begins string) string {
	t.Helper()
	_, rest, ok := strings.Cut("\n"+text, "\n"+begins)
	if !ok {
		t.Fatalf("nothing begins with %q in\n%s", begins, text)
	}
	rest, _, _ = strings.Cut(rest, "\n\n")
	return begins + rest
}

// The header tells of shares: where the worst cell isn't at an end of them, the
// cell that is gets a line too.
func TestWorstByAmountAndByShare(t *testing.T) {
	points := []float64{1000, 2000, 3000}
	for _, c := range []struct {
		what, unit string
		old, new   []float64
		want       []string
		byShare    int
	}{
		// 1 of 10 is -10 %, 0.5 of 1 is +50 %.
		{"apart", "mg", []float64{10, 1, 5}, []float64{9, 1.5, 5}, []string{
			"worst     rpm 1000   10.00 → 9.00 mg   by amount: -1.00 mg, -10.0 %",
			"by share  rpm 2000   1.00 → 1.50 mg    +50.0 %"}, 1},
		{"the same cell", "mg", []float64{10, 1, 5}, []float64{5, 1.1, 5}, []string{"worst     rpm 1000   10.00 → 5.00 mg   -50.0 %"}, 0},
		// Both are 10 %, one up and one down.
		{"as large a share", "mg", []float64{10, 1, 5}, []float64{9, 1.1, 5}, []string{"worst     rpm 1000   10.00 → 9.00 mg   -10.0 %"}, 0},
		{"an angle", "deg", []float64{10, 1, 5}, []float64{9, 1.5, 5}, []string{"worst     rpm 1000   10.00 → 9.00 deg"}, 0},
		// The header tells of amounts where one cell has no share.
		{"from nothing", "mg", []float64{10, 1, 0}, []float64{9, 1.5, 0.1}, []string{"worst     rpm 1000   10.00 → 9.00 mg   -10.0 %"}, 0},
	} {
		r := Tables(side("a", table("x", c.unit, points, c.old)), side("b", table("x", c.unit, points, c.new)))
		validates(t, r)
		got := strings.Split(strings.TrimRight(text(t, r, TextOptions{}), "\n"), "\n")
		for i, want := range c.want {
			if line := got[len(got)-len(c.want)+i]; line != "  "+want {
				t.Errorf("%s: %q, want %q", c.what, line, want)
			}
		}
		if s := mapOf(t, r, "x").Summary; s.Worst != 0 || s.WorstShare != c.byShare {
			t.Errorf("%s: worst %d and %d", c.what, s.Worst, s.WorstShare)
		}
	}
}

// Where rows or columns that differ are left out between two that are shown, a
// mark stands between them; not where those between are the same on both sides.
func TestWhatIsLeftOutIsMarked(t *testing.T) {
	grid := func(cells ...float64) *Table {
		x := table("x", "deg", []float64{1, 2, 3, 4}, cells)
		for i := range len(cells) / 4 {
			x.Rows.Points = append(x.Rows.Points, float64(10*i))
		}
		x.Rows.Name = "load"
		return x
	}
	show := func(new []float64, width int) string {
		r := Tables(side("a", grid(make([]float64, len(new))...)), side("b", grid(new...)))
		return block(t, text(t, r, TextOptions{Width: width}), "x [deg]")
	}
	same := func(what, got, want string) {
		t.Helper()
		if !strings.Contains(got, want) {
			t.Errorf("%s:\n%s\nwant\n%s", what, got, want)
		}
	}
	// 12 for the rows' names, 14 for a column, 4 for a mark: 44 hold two columns
	// with a mark between them, 43 only one.
	narrow := []float64{5, 1, 0, 6, 5, 1, 0, 6}
	same("two columns and a mark", show(narrow, 44), `
  load \ rpm   1             …   4
  0            0.00 → 5.00   …   0.00 → 6.00
  10           0.00 → 5.00   …   0.00 → 6.00
  … and 1 more column:`)
	same("no room for the mark", show(narrow, 43), `
  load \ rpm   4
  0            0.00 → 6.00
  10           0.00 → 6.00
  … and 2 more columns:`)
	same("all of them", show(narrow, 57), `
  load \ rpm   1             2             4
  0            0.00 → 5.00   0.00 → 1.00   0.00 → 6.00
`)
	// Twelve rows differ, of which ten are shown: the third and the fourth change
	// least. The sixth doesn't differ.
	var rows []float64
	for i := range 13 {
		x := 5.0
		switch i {
		case 2, 3:
			x = 1
		case 5:
			x = 0
		}
		rows = append(rows, x, 0, 0, 0)
	}
	same("rows", show(rows, 80), `
  load \ rpm   1
  0            0.00 → 5.00
  10           0.00 → 5.00
  …            …
  40           0.00 → 5.00
  60           0.00 → 5.00
  70           0.00 → 5.00
`)
}

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, errors.New("full") }

func TestTextSaysWhenItCannotBeWritten(t *testing.T) {
	if err := Tables(side("a"), side("b")).Text(broken{}, TextOptions{}); err == nil {
		t.Error("no error")
	}
}
