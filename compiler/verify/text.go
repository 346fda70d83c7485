package verify

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"fettle/compiler/check"
	"fettle/compiler/diff"
	"fettle/compiler/grid"
	"fettle/compiler/table"
	"fettle/compiler/target"
	"fettle/lang/unit"
)

// TextOptions says how a result is written for people.
type TextOptions struct {
	diff.TextOptions
}

// most is how many tunes of the same tables are named.
const most = 20

// Text writes the answer.
func (r *Result) Text(w io.Writer, opt TextOptions) error {
	var b strings.Builder
	switch a := r.Against; {
	case a != nil && a.Grade != Differs:
		fmt.Fprintf(&b, "%s %s %s%s\n", r.Read.Title, r.is(), a.title(), r.but())
		a.about(&b)
	case a != nil:
		fmt.Fprintf(&b, "%s isn't %s: %s\n", r.Read.Title, a.title(), a.differText())
		a.cells(&b, r.Read.Title, opt)
		b.WriteByte('\n')
		r.which(&b, opt, "it")
	default:
		r.which(&b, opt, r.Read.Title)
	}
	r.Read.about(&b)
	if len(r.Skipped) > 0 {
		fmt.Fprintf(&b, "not looked at, since the workspace can't be read there: %s\n", strings.Join(r.Skipped, ", "))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// which says which tune was read, or which is nearest.
func (r *Result) which(b *strings.Builder, opt TextOptions, what string) {
	switch {
	case len(r.Is) == 1:
		fmt.Fprintf(b, "%s %s %s%s\n", what, r.is(), r.Is[0].title(), r.but())
		r.Is[0].about(b)
	case len(r.Is) > 1:
		fmt.Fprintf(b, "%s %s one of %d tunes, whose tables are the same%s:\n", what, r.is(), len(r.Is), r.but())
		for i, f := range r.Is {
			if i == most {
				fmt.Fprintf(b, "  … and %d more; `--json` has them all\n", len(r.Is)-most)
				break
			}
			fmt.Fprintf(b, "  %s\n", f.title())
		}
		r.Is[0].about(b)
	case r.Nearest != nil:
		where := "of the work tree"
		if r.Tags > 0 {
			where += " or of " + count(r.Tags, "tag")
		}
		f := r.Nearest
		fmt.Fprintf(b, "%s is no tune %s; the nearest is %s: %s\n", what, where, f.title(), f.differText())
		if r.Against == nil || r.Against.Name() != f.Name() {
			f.cells(b, r.Read.Title, opt)
		}
		f.failing(b)
	}
}

// title names a tune and what of it was matched: "bench for shop_ecu".
func (f *Found) title() string {
	var of []string
	for _, set := range f.Sets {
		if set.Target != nil && !has(of, set.Target.Name) {
			of = append(of, set.Target.Name)
		}
	}
	if len(of) == 0 {
		return f.Name()
	}
	if len(of) < len(f.Sets) {
		return f.Name() + ", its maps and those for " + strings.Join(of, ", ")
	}
	return f.Name() + " for " + strings.Join(of, ", ")
}

func has(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

// about says of a tune that was found what was compared, and where it is from.
func (f *Found) about(b *strings.Builder) {
	for _, set := range f.Sets {
		if text, ok := set.brief(); ok {
			fmt.Fprintf(b, "  %s\n", text)
			continue
		}
		said := map[string]bool{} // a table of several files is the same in each
		for _, p := range set.Pairs {
			if text := p.about(set.Target); !said[text] {
				said[text] = true
				fmt.Fprintf(b, "  %s\n", text)
			}
		}
	}
	o := f.Source.Origin
	fmt.Fprintf(b, "  source %s", f.Source.Digest()[:12])
	if o.Revision != "" {
		fmt.Fprintf(b, ", revision %s", o.Revision[:min(12, len(o.Revision))])
		if o.Dirty {
			b.WriteString(", changed since")
		}
	}
	b.WriteByte('\n')
	f.failing(b)
}

// brief says in one line what was compared, where there are many tables and
// nothing is to be said of one. A table of several files counts once.
func (s *Set) brief() (string, bool) {
	n, cells, seen := 0, 0, map[string]bool{}
	for _, p := range s.Pairs {
		if p.Union || p.Grade != Same || p.Read.Name != p.Tune.Name || p.Read.Filled > 0 {
			return "", false
		}
		if !seen[p.Tune.Name] {
			seen[p.Tune.Name] = true
			n++
			cells += p.Cells
		}
	}
	if s.Target != nil {
		return fmt.Sprintf("%s of %s, %s", count(n, "table"), s.Target.Name, count(cells, "cell")), n > 4
	}
	return fmt.Sprintf("%s, %s", count(n, "map"), count(cells, "cell")), n > 4
}

func (f *Found) failing(b *strings.Builder) {
	if f.Fails {
		fmt.Fprintf(b, "  build doesn't write it: `fettle check` says why\n")
	}
}

// about says what a table was compared with, and how.
func (p *Pair) about(on *check.Target) string {
	what := fmt.Sprintf("map %s", p.Tune.Map)
	if on != nil {
		what = fmt.Sprintf("table %s of %s", p.Tune.Name, on.Name)
	}
	text := fmt.Sprintf("%s: %s, %s", p.Read.Name, what, count(p.Cells, "cell"))
	for i := range tables(on) {
		if spec := on.Tables[i]; spec.Name == p.Tune.Name {
			text += " as " + target.StorageText(spec)
		}
	}
	if p.Union {
		text += "; over other breakpoints: both are looked up on all of them"
	}
	if p.Read.Filled > 0 {
		text += fmt.Sprintf("; %s filled in from the neighbours", count(p.Read.Filled, "blank cell"))
	}
	if p.Grade == AsFar {
		text += fmt.Sprintf("; as far as %s can tell", count(p.Read.Decimals, "decimal"))
	}
	return text
}

func tables(on *check.Target) []*check.TargetTable {
	if on == nil {
		return nil
	}
	return on.Tables
}

// differText says how far a tune is from what was read.
func (f *Found) differText() string {
	differ, cells := 0, 0
	worst := f.worst()
	for _, set := range f.Sets {
		for _, p := range set.Pairs {
			differ += len(p.Cell)
			cells += p.Cells
		}
	}
	text := fmt.Sprintf("%d of %s", differ, count(cells, "cell"))
	verb := " differ"
	if differ == 1 {
		verb = " differs"
	}
	if worst == nil {
		return text + verb
	}
	c := worst.Cell[0]
	for _, other := range worst.Cell {
		if abs(other.Read-other.Tune) > abs(c.Read-c.Tune) {
			c = other
		}
	}
	d := grid.Res{}.Format(abs(c.Read - c.Tune))
	in := ""
	if t := worst.Tune; t.Res.Set() || t.Storage != nil && t.Storage.Type != table.F32 { // else there are no steps
		in = fmt.Sprintf(" (%s of %s)", steps(worst.Steps), unit.With(grid.Screen(worst.step), worst.unit()))
	}
	return fmt.Sprintf("%s%s, by at most %s%s in %s at %s", text, verb, unit.With(d, worst.unit()), in, f.label(worst), worst.place(c))
}

func steps(n float64) string {
	text := grid.Res{}.Format(n)
	if text == "1" {
		return "1 step"
	}
	return text + " steps"
}

// unit is that of a difference of a table's values.
func (p *Pair) unit() string {
	if u, err := unit.Parse(p.Tune.Unit); err == nil {
		return u.Difference().Text
	}
	return p.Tune.Unit
}

// worst is the pair with the largest difference, nil if none differs.
func (f *Found) worst() *Pair {
	var out *Pair
	for _, set := range f.Sets {
		for _, p := range set.Pairs {
			if len(p.Cell) > 0 && (out == nil || p.Steps > out.Steps) {
				out = p
			}
		}
	}
	return out
}

// label names a table that was read, with its file where several have one of
// that name.
func (f *Found) label(p *Pair) string {
	for _, set := range f.Sets {
		for _, other := range set.Pairs {
			if other != p && other.Read.Name == p.Read.Name {
				return p.Read.Name + " in " + p.Read.File
			}
		}
	}
	return p.Read.Name
}

func (p *Pair) place(c Cell) string {
	out := make([]string, len(c.At))
	for i, a := range p.Tune.Axes() {
		out[i] = check.OnAxis(a.Name, a.Unit, c.At[i])
	}
	return strings.Join(out, ", ")
}

// cells prints the cells that differ, as diff does.
func (f *Found) cells(b *strings.Builder, title string, opt TextOptions) {
	a, c := &diff.Side{Name: f.title()}, &diff.Side{Name: title}
	for _, set := range f.Sets {
		for _, p := range set.Pairs {
			if len(p.Cell) == 0 {
				continue
			}
			name := f.label(p)
			x := &diff.Table{Map: name, Unit: p.Tune.Unit, HasUnit: true, Rows: diff.Axis(p.Tune.Rows), Cols: diff.Axis(p.Tune.Cols), Cells: p.Tune.Cells, Res: p.Tune.Res}
			y := *x
			y.Rows, y.Cols, y.Cells = diff.Axis(p.Read.Rows), diff.Axis(p.Read.Cols), p.onScreen(p.likeTune())
			x.Cells = p.onScreen(x.Cells)
			a.Tables, c.Tables = append(a.Tables, x), append(c.Tables, &y)
		}
	}
	if len(a.Tables) == 0 {
		return
	}
	pair := diff.Compare(a, c)
	b.WriteByte('\n')
	text := pair.Text(opt.TextOptions)
	b.WriteString(text.Head)
	b.WriteString("\n" + text.Body)
}

// likeTune gives the cells that were read, where they agree with the tune's as
// the tune has them.
func (p *Pair) likeTune() []float64 {
	if p.Union {
		return p.Read.Cells
	}
	out := append([]float64(nil), p.Tune.Cells...)
	n := len(p.Tune.Cols.Points)
	k := 0
	for i := range out {
		at := []float64{p.Tune.Cols.Points[i%n]}
		if p.Tune.Rows.Points != nil {
			at = []float64{p.Tune.Rows.Points[i/n], at[0]}
		}
		if k < len(p.Cell) && same(p.Cell[k].At, at) {
			out[i] = p.Cell[k].Read
			k++
		}
	}
	return out
}

// onScreen gives values with no more digits than are read: of a float32 those
// that it has.
func (p *Pair) onScreen(cells []float64) []float64 {
	out := make([]float64, len(cells))
	for i, x := range cells {
		text := grid.Exact
		switch {
		case p.Tune.Storage != nil && p.Tune.Storage.Type == table.F32 && float64(float32(x)) == x:
			text = grid.Screen32
		case p.Tune.Storage != nil:
			text = grid.Screen
		}
		if v, err := strconv.ParseFloat(text(x), 64); err == nil {
			out[i] = v
		}
	}
	return out
}

func abs(x float64) float64 {
	if x < 0 {
		return -x
	}
	return x
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
