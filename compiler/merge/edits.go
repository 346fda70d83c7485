package merge

import (
	"fmt"
	"path"
	"strings"
)

// Edits names what a side changed in a text: its declarations, and of tables the
// cells. Comments and layout don't count. There is nothing where nothing else
// changed, and the file's name alone where the text can't be read.
func Edits(before, after string, opt Options) []string {
	if before == after {
		return nil
	}
	b, _ := plain(before)
	a, _ := plain(after)
	name := path.Base(opt.Path)
	if path.Ext(opt.Path) == ".csv" {
		fb, why := readCSV(b)
		fa, why2 := readCSV(a)
		if why != "" || why2 != "" {
			return []string{name}
		}
		g := mergeTables([3]*table{fb.table, fa.table, fb.table}, true)
		if g == nil {
			return []string{name}
		}
		if text := g.edits(fa.placer(g)); text != "" {
			return []string{name + text}
		}
		return nil
	}
	fb, err := read(b, opt.Path)
	fa, err2 := read(a, opt.Path)
	if err != nil || err2 != nil {
		return []string{name}
	}
	var entries [2][]entry
	for side, f := range [2]*file{fb, fa} {
		for _, p := range f.pieces {
			entries[side] = append(entries[side], p.entry())
		}
	}
	units := axisUnits([3]*file{fb, fa, fb}, opt.Units)
	of := pair(entries[0], entries[1], byKey)
	there := make([]bool, len(fb.pieces))
	var out []string
	for j, p := range fa.pieces {
		if of[j] < 0 {
			out = append(out, p.name+" (added)")
			continue
		}
		there[of[j]] = true
		out = append(out, changes(fb.pieces[of[j]], p, units)...)
	}
	for i, p := range fb.pieces {
		if !there[i] {
			out = append(out, p.name+" (removed)")
		}
	}
	order := make([]int, len(fb.pieces))
	for i := range order {
		order[i] = i
	}
	if len(out) == 0 && moved(order, of) {
		out = append(out, name+": the order of its declarations")
	}
	return out
}

// changes names a declaration if it says something else than before.
func changes(b, a *piece, units map[string]string) []string {
	if normPiece(b.file, b.toks, nil) == normPiece(a.file, a.toks, nil) {
		return nil
	}
	if b.name != a.name {
		return []string{a.name + " (" + b.name + " before)"}
	}
	if g := tablesOf([3]*piece{b, a, b}); g != nil {
		return []string{a.name + g.edits(placer(g, a, units))}
	}
	return []string{a.name}
}

// edits says what ours changed in a table: a cell or two by name, more by their
// number, then rows and columns.
func (g *merged) edits(place func(r, c int) string) string {
	var cells []string
	for r := range g.all[0] {
		for c := range g.all[1] {
			if g.changed(ours, r, c) {
				cells = append(cells, fmt.Sprintf("%s: %s → %s", place(r, c), orBlank(g.cell(base, r, c)), orBlank(g.cell(ours, r, c))))
			}
		}
	}
	var parts []string
	switch n := len(cells); {
	case n > 2:
		parts = append(parts, fmt.Sprintf("%d cells", n))
	case n > 0:
		parts = append(parts, "at "+strings.Join(cells, " and at "))
	}
	count := func(n int, at [3]map[int]int, what string) {
		added, gone := 0, 0
		for id := range n {
			switch before, after := has(at, base, id), has(at, ours, id); {
			case after && !before:
				added++
			case before && !after:
				gone++
			}
		}
		for _, x := range []struct {
			n    int
			verb string
		}{{added, "added"}, {gone, "removed"}} {
			if x.n == 1 {
				parts = append(parts, "1 "+what+" "+x.verb)
			} else if x.n > 1 {
				parts = append(parts, fmt.Sprintf("%d %ss %s", x.n, what, x.verb))
			}
		}
	}
	count(g.all[0], g.rowAt, "row")
	count(g.all[1], g.colAt, "column")
	heads := g.v[base].corner.norm != g.v[ours].corner.norm
	for c := range g.all[1] {
		b, o := g.colOf(base, c), g.colOf(ours, c)
		heads = heads || b != nil && o != nil && b.norm != o.norm
	}
	if heads {
		parts = append(parts, "its first line")
	}
	if len(parts) == 0 {
		return ""
	}
	return " " + strings.Join(parts, ", ")
}

func orBlank(c *cell) string {
	if s := strings.TrimSpace(c.text); s != "" {
		return s
	}
	return "blank"
}
