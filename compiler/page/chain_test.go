package page_test

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/explain"
	"fettle/compiler/review"
)

// told tells the chains of one map of a tune on one side, in the words of `why`.
type told struct {
	in explain.Input
	m  *check.Map
}

func tell(t *testing.T, r *review.Review, side int, tune, name string) told {
	t.Helper()
	at := slices.IndexFunc(r.Entries, func(e *review.Entry) bool { return e.Name == tune })
	if at < 0 {
		t.Fatalf("%s isn't reviewed", tune)
	}
	s := r.Entries[at].Pair.Old
	if side == 1 {
		s = r.Entries[at].Pair.New
	}
	p := s.Program.Check
	k := slices.IndexFunc(p.Maps, func(m *check.Map) bool { return m.Name == name })
	if k < 0 {
		t.Fatalf("no map %s", name)
	}
	m := p.Maps[k]
	res := s.Program.Tune(eval.Pure(p, s.Tune), eval.Options{Trace: func(x *check.Map) bool { return x == m }})
	return told{explain.Input{Program: p, Tune: s.Tune, Result: res}, m}
}

var gap = regexp.MustCompile(` {2,}`)

// links are the steps that act in a cell: name, what it did, the value after.
// The base of a formula stands as it is written, as it does in the page.
func (c told) links(row, col int) []string {
	at := []float64{c.m.Base.Cols[col]}
	if len(c.m.Axes) == 2 {
		at = []float64{c.m.Base.Rows[row], c.m.Base.Cols[col]}
	}
	chain := explain.At(c.in, c.m, at)
	var text strings.Builder
	chain.Text(&text, c.m.Res, explain.TextOptions{})
	var out []string
	for i, line := range strings.Split(text.String(), "\n") {
		f := gap.Split(strings.TrimSpace(line), -1)
		value := func(s string) string { return strings.TrimSuffix(s, " "+c.m.Unit.Text) }
		switch {
		case i == 0 || len(f) < 2 || f[1] == "—":
		case f[0] == "written":
			return append(out, "written | "+value(f[1]))
		case f[0] == "base" && c.m.Formula != nil && len(chain.Links) == 0:
			out = append(out, "base | "+chain.Printed)
		case f[0] == "base":
			out = append(out, "base | "+value(f[1]))
		default:
			out = append(out, f[0]+" | "+f[1]+" | "+value(f[2]))
		}
	}
	return out
}

// rowsOf reads the same out of the page, for one side.
const rowsOf = `((side) => [...document.querySelectorAll(".chain tbody tr")].map((tr) => {
  const name = [...tr.querySelector("th").childNodes].filter((n) => n.nodeType === 3).map((n) => n.textContent).join("").trim();
  const cell = tr.querySelectorAll("td")[side], value = cell.querySelector(".value"), did = cell.querySelector(".did");
  return value ? [name, did && name !== "base" ? did.textContent : "", value.textContent].filter(Boolean).join(" | ") : "";
}).filter(Boolean))`

// sameChain holds the chain that a page shows to what `why` says.
func sameChain(t *testing.T, b *tab, r *review.Review, tune, name string, row, col int) {
	t.Helper()
	for side := range 2 {
		want := tell(t, r, side, tune, name).links(row, col)
		got := ask[[]string](b, fmt.Sprintf("%s(%d)", rowsOf, side))
		if !slices.Equal(got, want) {
			t.Errorf("%s %s, row %d, column %d, side %d is told as\n%s\nand not as\n%s", tune, name, row, col, side, strings.Join(got, "\n"), strings.Join(want, "\n"))
		}
	}
}

// everyChain points at every cell of the map shown, and compares what is told.
func everyChain(t *testing.T, b *tab, r *review.Review, tune, name string) {
	t.Helper()
	got := ask[[][2][]string](b, `[...document.querySelectorAll(".heat.live td")].map((td) => { td.dispatchEvent(new MouseEvent("mouseover", { bubbles: true })); return [`+rowsOf+`(0), `+rowsOf+`(1)]; })`)
	for side := range 2 {
		c := tell(t, r, side, tune, name)
		nc := len(c.m.Base.Cols)
		if n := len(c.in.Result.Traces[c.m].Base); len(got) != n {
			t.Fatalf("%d cells are shown of %d", len(got), n)
		}
		bad := 0
		for i := range got {
			if want := c.links(i/nc, i%nc); !slices.Equal(got[i][side], want) {
				if bad++; bad == 1 {
					t.Errorf("%s %s, cell %d, side %d is told as\n%s\nand not as\n%s", tune, name, i, side, strings.Join(got[i][side], "\n"), strings.Join(want, "\n"))
				}
			}
		}
		if bad > 1 {
			t.Errorf("and %d more", bad-1)
		}
	}
}
