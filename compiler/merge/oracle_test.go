package merge_test

import (
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fettle/compiler/merge"
)

// A second three-way merge, slow and plain on purpose, of tables that are
// dictionaries of cells. It shares no code with the room: it reads and writes
// grids, catalogues and CSV text by itself.

// oracle merges three tables.
func oracle(b, o, t *plainTable) (cells map[[2]string]string, conflicts []string) {
	cells = map[[2]string]string{}
	in := func(list []string, s string) bool { return slices.Contains(list, s) }
	union := func(x, y, z []string) []string {
		all := slices.Concat(x, y, z)
		slices.Sort(all)
		return slices.Compact(all)
	}
	clash := func(r, c string) { conflicts = append(conflicts, r+" / "+c) }
	for _, r := range union(b.rows, o.rows, t.rows) {
		for _, c := range union(b.cols, o.cols, t.cols) {
			at := [2]string{r, c}
			vb, inB := b.cells[at]
			vo, inO := o.cells[at]
			vt, inT := t.cells[at]
			vb, vo, vt = value(vb), value(vo), value(vt)
			rowStays := in(o.rows, r) && in(t.rows, r) || !in(b.rows, r)
			colStays := in(o.cols, c) && in(t.cols, c) || !in(b.cols, c)
			switch {
			case inB && inO && vo != vb && (!in(t.rows, r) || !in(t.cols, c)):
				clash(r, c)
			case inB && inT && vt != vb && (!in(o.rows, r) || !in(o.cols, c)):
				clash(r, c)
			case !rowStays || !colStays:
			case inB && vo != vb && vt != vb && vo != vt:
				clash(r, c)
			case !inB && inO && inT && vo != vt:
				clash(r, c)
			case inB && vo == vb:
				cells[at] = vt
			case inO:
				cells[at] = vo
			case inT:
				cells[at] = vt
			case !b.grid():
				clash(r, c)
			default:
				cells[at] = "" // to be filled in
			}
		}
	}
	slices.Sort(conflicts)
	return cells, conflicts
}

// examples gives every table of the examples.
func examples(t testing.TB) (out []*plainTable) {
	for _, pattern := range []string{"../../examples/*/*.fettle", "../../examples/*/*.csv"} {
		paths, err := filepath.Glob(pattern)
		if err != nil || len(paths) == 0 {
			t.Fatal("no examples")
		}
		for _, path := range paths {
			b, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, plainTables(path, string(b))...)
		}
	}
	if len(out) < 10 {
		t.Fatalf("%d tables", len(out))
	}
	return out
}

// edit makes some random changes to a table.
func edit(t *rapid.T, p *plainTable, side string) *plainTable {
	q := p.clone()
	pick := func(list []string, what string) string { return rapid.SampledFrom(list).Draw(t, side+what) }
	number := func() string {
		return strconv.FormatFloat(float64(rapid.IntRange(-50, 400).Draw(t, side+"value"))/4, 'f', -1, 64)
	}
	fresh := func(list []string, what string) string {
		if !q.grid() {
			return rapid.SampledFrom([]string{"new_one", "new_two", "new_three"}).Draw(t, side+what)
		}
		v, _ := strconv.ParseFloat(pick(list, what), 64)
		return value(strconv.FormatFloat(v+rapid.SampledFrom([]float64{-0.5, 0.25, 0.5}).Draw(t, side+what+" by"), 'f', -1, 64))
	}
	label := func(key string) string {
		if v, err := strconv.ParseFloat(key, 64); q.grid() && err == nil {
			return strconv.FormatFloat(v, 'f', -1, 64)
		}
		return key
	}
	ascend := func(list []string) {
		if q.grid() {
			slices.SortFunc(list, func(x, y string) int {
				a, _ := strconv.ParseFloat(x, 64)
				b, _ := strconv.ParseFloat(y, 64)
				return int(math.Copysign(1, a-b))
			})
		}
	}
	for range rapid.IntRange(1, 4).Draw(t, side+"edits") {
		switch rapid.SampledFrom([]string{"cell", "cell", "cell", "same", "row", "no row", "col", "no col"}).Draw(t, side+"what") {
		case "cell":
			at := [2]string{pick(q.rows, "row"), pick(q.cols, "col")}
			q.cells[at] = number()
			if q.grid() && rapid.IntRange(0, 5).Draw(t, side+"blank") == 0 {
				q.cells[at] = ""
			}
		case "same": // the same number, written otherwise
			at := [2]string{pick(q.rows, "row"), pick(q.cols, "col")}
			if _, err := strconv.ParseFloat(q.cells[at], 64); err == nil && strings.Contains(q.cells[at], ".") {
				q.cells[at] += "0"
			}
		case "row":
			if r := fresh(q.rows, "new row"); !slices.Contains(q.rows, r) && q.rows[0] != "" {
				at := len(q.rows)
				if !q.grid() {
					at = rapid.IntRange(0, len(q.rows)).Draw(t, side+"at")
				}
				q.rows = slices.Insert(q.rows, at, r)
				q.labels["row "+r] = label(r)
				for _, c := range q.cols {
					q.cells[[2]string{r, c}] = number()
				}
				ascend(q.rows)
			}
		case "col":
			if c := fresh(q.cols, "new col"); !slices.Contains(q.cols, c) {
				q.cols = append(q.cols, c)
				q.labels[c] = label(c)
				for _, r := range q.rows {
					q.cells[[2]string{r, c}] = number()
				}
				ascend(q.cols)
			}
		case "no row":
			if len(q.rows) > 1 {
				r := pick(q.rows, "row")
				q.rows = slices.DeleteFunc(q.rows, func(s string) bool { return s == r })
				maps.DeleteFunc(q.cells, func(at [2]string, _ string) bool { return at[0] == r })
			}
		case "no col":
			if len(q.cols) > 1 {
				c := pick(q.cols, "col")
				q.cols = slices.DeleteFunc(q.cols, func(s string) bool { return s == c })
				maps.DeleteFunc(q.cells, func(at [2]string, _ string) bool { return at[1] == c })
			}
		}
	}
	return q
}

// said gives the cells that messages name, as the oracle does.
func said(p *plainTable, messages []string) []string {
	var out []string
	for _, m := range messages {
		_, m, _ = strings.Cut(m, " at ")
		place, _, _ := strings.Cut(m, ": ")
		parts := strings.Split(place, ", ")
		if p.grid() {
			for i, part := range parts {
				if words := strings.Fields(part); len(words) > 1 {
					parts[i] = value(words[1]) // "throttle 50 %"
				}
			}
		}
		if len(parts) == 1 {
			parts = []string{"", parts[0]}
		}
		out = append(out, parts[0]+" / "+parts[1])
	}
	slices.Sort(out)
	return out
}

func read(p *plainTable, text string) map[[2]string]string {
	name := "x.fettle"
	if p.head == "" {
		name = "x.csv"
	}
	all := plainTables(name, text)
	if len(all) != 1 {
		return nil
	}
	out := map[[2]string]string{}
	for at, s := range all[0].cells {
		out[at] = value(s)
	}
	return out
}

// TestOracle: on random edits of every table of the examples the merge is clean
// exactly when the oracle's is, gives the same cells then, and names the same
// cells otherwise. It doesn't matter which side is whose.
func TestOracle(t *testing.T) {
	tables := examples(t)
	clean, clashes := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		b := rapid.SampledFrom(tables).Draw(t, "table")
		o, th := edit(t, b, "ours "), edit(t, b, "theirs ")
		opt := merge.Options{Path: "x.fettle"}
		if b.head == "" {
			opt.Path = "x.csv"
		}
		want, conflicts := oracle(b, o, th)
		r := merge.Texts(b.text(), o.text(), th.text(), opt)
		if len(want) == 0 && len(conflicts) == 0 { // each side removed what the other left
			if len(r.Conflicts) == 0 {
				t.Fatalf("nothing is left, and nothing in conflict:\n%s", r.Text)
			}
			return
		}
		if r.ByLine != "" {
			t.Fatalf("merged by line: %s", r.ByLine)
		}
		if got := said(b, r.Conflicts); !slices.Equal(got, conflicts) {
			t.Fatalf("conflicts %q, want %q\n%s\n%s\n%s\n%s", r.Conflicts, conflicts, b.text(), o.text(), th.text(), r.Text)
		}
		back := merge.Texts(b.text(), th.text(), o.text(), opt)
		if got := said(b, back.Conflicts); !slices.Equal(got, conflicts) {
			t.Fatalf("conflicts the other way round %q, want %q", got, conflicts)
		}
		if len(conflicts) > 0 {
			clashes++
			if !strings.Contains(r.Text, "<<<<<<< ours\n") || !strings.Contains(r.Text, ">>>>>>> theirs\n") {
				t.Fatalf("no markers in\n%s", r.Text)
			}
			sidesOf(t, b, o, th, r.Text)
			return
		}
		clean++
		for _, text := range []string{r.Text, back.Text} {
			if got := read(b, text); !maps.Equal(got, want) {
				t.Fatalf("cells %v, want %v in\n%s", got, want, text)
			}
		}
	})
	if clean == 0 || clashes == 0 {
		t.Errorf("%d clean merges and %d with conflicts", clean, clashes)
	}
}

var conflictBlock = regexp.MustCompile(`(?ms)^<<<<<<< ours\n(.*?)^\|\|\|\|\|\|\| base\n(.*?)^=======\n(.*?)^>>>>>>> theirs\n`)

// sidesOf takes one side's version of every conflict. What that gives has that
// side's cells where they are in conflict.
func sidesOf(t *rapid.T, b, o, th *plainTable, text string) {
	for i, side := range []*plainTable{o, b, th} {
		chosen := conflictBlock.ReplaceAllString(text, fmt.Sprintf("${%d}", i+1))
		got := read(b, chosen)
		if got == nil || strings.Contains(chosen, "<<<<") {
			t.Fatalf("version %d can't be read:\n%s", i, chosen)
		}
		for at, v := range got {
			own, has := side.cells[at]
			vo, inO := o.cells[at]
			vt, inT := th.cells[at]
			vb, inB := b.cells[at]
			fits := has && value(own) == v || inO && value(vo) == v || inT && value(vt) == v || v == ""
			edited := inO && inT && value(vo) != value(vt) && (!inB || value(vo) != value(vb) && value(vt) != value(vb))
			if edited && has {
				fits = value(own) == v
			}
			if !fits {
				t.Fatalf("version %d has %s at %v:\n%s", i, v, at, chosen)
			}
		}
	}
}

// TestLaws: a side that changed nothing counts for nothing.
func TestLaws(t *testing.T) {
	tables := examples(t)
	rapid.Check(t, func(t *rapid.T) {
		b := rapid.SampledFrom(tables).Draw(t, "table")
		x := edit(t, b, "")
		opt := merge.Options{Path: "x.fettle"}
		if b.head == "" {
			opt.Path = "x.csv"
		}
		for _, v := range [][3]string{{b.text(), b.text(), x.text()}, {b.text(), x.text(), b.text()}, {b.text(), x.text(), x.text()}} {
			if r := merge.Texts(v[0], v[1], v[2], opt); r.Text != x.text() || len(r.Conflicts)+len(r.Notes) > 0 {
				t.Fatalf("got\n%s\nwant\n%s", r.Text, x.text())
			}
		}
		// The same through the whole merge: the base's last line isn't ended.
		loose := strings.TrimSuffix(b.text(), "\n")
		if r := merge.Texts(b.text(), loose, x.text(), opt); r.Text+"\n" != x.text() || len(r.Conflicts) > 0 {
			t.Fatalf("got\n%s\nwant\n%s", r.Text, x.text())
		}
	})
}
