// Package diff compares tunes: which cells differ, by how much, and which
// element of the source moved them.
//
// How it goes. A Side is a tune of a program, or plain tables read from a built
// folder or a CSV file. Sides are paired, then their maps by name, then cells
// by breakpoints; where breakpoints differ, both sides are looked up on the
// union of them. Cells are compared as printed, rounded to the map's
// resolution, so that a tune and the folder built of it compare alike.
//
// For two tunes of a program each change is then attributed (attribute.go): the
// elements whose inputs differ are replaced by their new selves one after the
// other, the tune is computed after each, and what a cell moved by is that
// element's part. The parts of a cell add up to its change. Beside them stands
// which clamps cap a map's worst cell (clamps.go). What can be
// replaced, and how, is asked of a `change` (elements.go has the one of two
// tunes of one program), so that another kind of pair, such as two programs,
// needs no other attribution.
//
// In: eval.Program and plan.Tune, or the texts that emit wrote. Out: a Report,
// which is written as text for a terminal or as JSON; and, apart from that,
// the line by line difference of two sources. Imported by the compiler and
// cmd; the only importer of go-diff.
package diff

import (
	"fmt"

	"fettle/compiler/eval"
	"fettle/compiler/plan"
)

// Variants compares two tunes of one workspace and attributes each change. The
// error says which of them can't be computed.
func Variants(p *eval.Program, old, new *plan.Tune) (*Report, error) {
	a, err := FromTune(p, old)
	if err != nil {
		return nil, err
	}
	b, err := FromTune(p, new)
	if err != nil {
		return nil, err
	}
	pair := Compare(a, b)
	AttributeTunes(pair)
	return &Report{Pairs: []*Pair{pair}}, nil
}

// AttributeTunes attributes the changes between two tunes of one program.
func AttributeTunes(p *Pair) {
	attribute(p, twoTunes(p.New.Program, p.Old.Tune, p.New.Tune, p.New.Result, p.Labels))
	noteClamps(p)
}

// Tables compares two sides as plain tables, without attribution.
func Tables(old, new *Side) *Report {
	return &Report{Pairs: []*Pair{Compare(old, new)}}
}

// Folders compares two lists of sides, such as two built folders. Tunes are
// paired by name; where each list is a single tune, its folder or a file, those
// two are a pair whatever they are called. A tune of a workspace beside a whole
// folder is compared with its namesake alone.
func Folders(old, new []*Side) *Report {
	r := &Report{Folders: true}
	old, new = namesake(old, new), namesake(new, old)
	if len(old) == 1 && len(new) == 1 && old[0].single && new[0].single {
		return Tables(old[0], new[0])
	}
	oldByName, newByName := byName(old), byName(new)
	for _, s := range old {
		other := newByName[s.Name]
		switch {
		case !s.has():
		case !other.has():
			r.OldOnly = append(r.OldOnly, Lone{Name: s.title(), Why: other.failed()})
		default:
			r.Pairs = append(r.Pairs, Compare(s, other))
		}
	}
	for _, s := range new {
		if other := oldByName[s.Name]; s.has() && !other.has() {
			r.NewOnly = append(r.NewOnly, Lone{Name: s.title(), Why: other.failed()})
		}
	}
	return r
}

// namesake narrows a list to the tune that the other side is about.
func namesake(list, other []*Side) []*Side {
	if len(other) != 1 || other[0].Program == nil || len(list) == 1 {
		return list
	}
	for _, s := range list {
		if s.Name == other[0].Name {
			return []*Side{s}
		}
	}
	return nil
}

func byName(list []*Side) map[string]*Side {
	out := map[string]*Side{}
	for _, s := range list {
		out[s.Name] = s
	}
	return out
}

// has says whether a side is there and has tables.
func (s *Side) has() bool { return s != nil && s.Tables != nil }

// title is a side's name, or what it is.
func (s *Side) title() string {
	if s.Name == "" {
		return "loose tables"
	}
	return s.Name
}

func (s *Side) failed() string {
	if s == nil {
		return ""
	}
	return s.Failed
}

// FromTune computes a tune and makes a side of it.
func FromTune(p *eval.Program, t *plan.Tune) (*Side, error) {
	res := p.Tune(eval.Pure(p.Check, t), eval.Options{})
	if f := res.Fault; f != nil {
		return nil, fmt.Errorf("`%s` can't be computed: %s, map `%s`: %s", t.Name, f.Span, f.Map.Name, f.Reason)
	}
	s := OfResult(p, t, res)
	s.Round()
	return s, nil
}

// OfResult makes a side of a tune that was computed. Its tables are rounded when
// that is asked for; a side that several goroutines will read is rounded first.
func OfResult(p *eval.Program, t *plan.Tune, res *eval.Result) *Side {
	s := &Side{Name: t.Name, Program: p, Tune: t, Result: res, single: true}
	for i, g := range p.Check.Givens {
		s.Conditions = append(s.Conditions, Condition{g.Name, plan.Text(g, t.Values[i])})
	}
	s.Tables = tablesOf(p, res)
	return s
}

// Round rounds all tables.
func (s *Side) Round() {
	for _, t := range s.Tables {
		t.round()
	}
}

// tablesOf makes tables of a result. They are rounded when that is asked for.
func tablesOf(p *eval.Program, res *eval.Result) []*Table {
	all := make([]Table, len(p.Check.Maps))
	tables := make([]*Table, len(all))
	for i, m := range p.Check.Maps {
		out := &all[i]
		*out = Table{Map: m.Name, Unit: m.Unit.Text, HasUnit: true, Res: m.Res, Exact: res.Maps[i].Cells}
		axis := func(k int, points []float64) Axis {
			a := p.Check.Axes[m.Axes[k]]
			return Axis{a.Name, a.Unit.Text, points}
		}
		out.Cols = axis(len(m.Axes)-1, res.Maps[i].Cols)
		if len(m.Axes) == 2 {
			out.Rows = axis(0, res.Maps[i].Rows)
		}
		tables[i] = out
	}
	return tables
}

// Printed is every cell as printed, a row after the other.
func (t *Table) Printed() []float64 {
	t.round()
	return t.Cells
}

// round works out the printed cells, if they aren't there.
func (t *Table) round() {
	if t.Cells != nil {
		return
	}
	t.Cells = make([]float64, len(t.Exact))
	for i, x := range t.Exact {
		t.Cells[i] = t.Res.Round(x)
	}
}

// printedAt is a cell as printed.
func (t *Table) printedAt(i int) float64 {
	if t.Cells != nil {
		return t.Cells[i]
	}
	return t.Res.Round(t.Exact[i])
}
