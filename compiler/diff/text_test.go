package diff

import (
	"errors"
	"regexp"
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
				if n := width(escape.ReplaceAllString(l, "")); n > w && strings.Contains(l, "→") && !strings.Contains(l, "worst") {
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
		more := len(f[0]) < len(f[2]) || len(f[0]) == len(f[2]) && f[0] < f[2]
		if len(f) != 4 || f[1] != "→" || f[3] != map[bool]string{true: "+", false: "-"}[more] {
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
	}
	if got := strings.Count(all, "→") - len(r.Pairs[0].Conditions); got != n {
		t.Errorf("%d cells are shown, want %d", got, n)
	}
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

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, errors.New("full") }

func TestTextSaysWhenItCannotBeWritten(t *testing.T) {
	if err := Tables(side("a"), side("b")).Text(broken{}, TextOptions{}); err == nil {
		t.Error("no error")
	}
}
