package review

import (
	"sort"

	"fettle/compiler/check"
	"fettle/lang/formula"
)

// flow says which maps of a program follow from which. Without a program, as of
// tables, a map may follow from any that stands before it.
type flow struct {
	index   map[string]int
	reads   [][]bool // by map: those that it reads, by way of others too
	formula []bool   // by map: it is a formula, and has no cells of its own
	known   bool
}

// flows keeps what was worked out.
type flows map[*check.Program]*flow

func (f flows) of(p *check.Program) *flow {
	if f[p] == nil {
		f[p] = flowOf(p)
	}
	return f[p]
}

func flowOf(p *check.Program) *flow {
	fl := &flow{index: map[string]int{}}
	if p == nil {
		return fl
	}
	fl.known = true
	fl.reads, fl.formula = make([][]bool, len(p.Maps)), make([]bool, len(p.Maps))
	for i, m := range p.Maps {
		fl.index[m.Name] = i
		fl.reads[i], fl.formula[i] = make([]bool, len(p.Maps)), m.Formula != nil
	}
	for _, i := range p.Order { // each comes after those it reads
		m := p.Maps[i]
		take := func(n *formula.Node) {
			if n == nil {
				return
			}
			for _, j := range n.MapsUsed() {
				if j == i {
					continue
				}
				fl.reads[i][j] = true
				for k, through := range fl.reads[j] {
					fl.reads[i][k] = fl.reads[i][k] || through && k != i
				}
			}
		}
		take(m.Formula)
		for _, s := range m.Steps {
			take(s.Amount)
			take(s.Where)
		}
		for _, l := range m.Clamps {
			take(l.Lo)
			take(l.Hi)
		}
	}
	return fl
}

// follows says whether map b follows from map a.
func (fl *flow) follows(a, b string) bool {
	if !fl.known {
		return fl.at(a) < fl.at(b)
	}
	i, inA := fl.index[a]
	j, inB := fl.index[b]
	return inA && inB && fl.reads[j][i]
}

// at numbers the maps of tables as they are met.
func (fl *flow) at(name string) int {
	i, ok := fl.index[name]
	if !ok {
		i = len(fl.index)
		fl.index[name] = i
	}
	return i
}

// root says whether a map has cells of its own, and so can hold a wrong one.
func (fl *flow) root(name string) bool {
	i, ok := fl.index[name]
	return !ok || !fl.known || !fl.formula[i]
}

// sort puts names of maps in the order of the source.
func (fl *flow) sort(names []string) {
	sort.SliceStable(names, func(i, j int) bool { return fl.index[names[i]] < fl.index[names[j]] })
}
