package review

import (
	"strings"
	"testing"
)

// Two margins that differ never read alike.
func TestMarginPair(t *testing.T) {
	for _, c := range []struct {
		a, b float64
		want string
	}{
		{1.25, -1.1, "+1.25 → -1.10"},
		{-0.4612, -0.4614, "-0.4612 → -0.4614"},
		{29.801, 29.812, "+29.80 → +29.81"},
		{3, 3, "+3 → +3"},
		{0.00001, 0, "+0.00001 → 0.00000"},
	} {
		a, b := marginPair(c.a, c.b)
		if got := a + " → " + b; got != c.want {
			t.Errorf("%g and %g read %s, want %s", c.a, c.b, got, c.want)
		}
	}
}

// A limit and a check count once, however many kinds of change or lines they have.
func TestAmount(t *testing.T) {
	list := []*Margin{{Name: "a"}, {Name: "a", Kind: Lapsed}, {Name: "b"}, {Name: "a", Check: true}, {Name: "a", Check: true}}
	if got, want := amount(list).plain(), "2 limits and 1 check"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	if got, want := amount(list[3:]).plain(), "1 check"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
}

// What isn't told one by one is named, until there is no room.
func TestRest(t *testing.T) {
	var list []*Margin
	for _, n := range []string{"a", "b", "a", strings.Repeat("c", mostRest), "d"} {
		list = append(list, &Margin{Name: n, Moved: &Moved{Was: 1, Is: 2, Unit: "mg"}})
	}
	if got, want := rest(list).plain(), "a 1 → 2 mg, b 1 → 2 mg, and 2 more"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
}
