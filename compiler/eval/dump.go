package eval

import (
	"fmt"
	"io"
)

// Dump writes the kernels of every map, in the order in which maps are computed:
// each instruction with its slots and shapes. For people who work on fettle.
func (p *Program) Dump(w io.Writer) {
	for _, i := range p.Check.Order {
		m, mp := p.Check.Maps[i], p.lowered(i)
		fmt.Fprintf(w, "map %s, %d cells\n", m.Name, p.cells[i].N())
		dumpKernel(w, "base", mp.base)
		for _, s := range mp.steps {
			fmt.Fprintf(w, "  rule %s %s (%s)%s\n", s.Rule.Name, s.Op, s.Span, s.kind())
			dumpKernel(w, "amount", s.amount)
			dumpKernel(w, "where", s.where)
		}
		for _, l := range mp.clamps {
			dumpKernel(w, "clamp "+l.Name+" high", l.hi)
			dumpKernel(w, "clamp "+l.Name+" low", l.lo)
		}
	}
}

// kind says what of a step is the same in every tune.
func (s *step) kind() string {
	switch {
	case s.factor != nil:
		return ", a factor that never changes"
	case s.always != nil:
		return ", weights that never change"
	}
	return ""
}

var shapeNames = [...]string{scalar: "one", byRow: "row", byCol: "column", full: "cell"}

func dumpKernel(w io.Writer, name string, k *kernel) {
	if k == nil {
		return
	}
	fmt.Fprintf(w, "  %s\n", name)
	for i, s := range k.slots {
		switch s.from {
		case fixed:
			fmt.Fprintf(w, "    %%%d:%s never changes, %v first\n", i, shapeNames[s.shape], s.fixed[0])
		case pooled:
			fmt.Fprintf(w, "    %%%d:%s is number %d of the tune\n", i, shapeNames[s.shape], s.at)
		case mapCells:
			fmt.Fprintf(w, "    %%%d:%s is a map's cells\n", i, shapeNames[s.shape])
		}
	}
	for _, in := range k.code {
		if in.dst >= 0 {
			fmt.Fprintf(w, "    %%%d:%s =", in.dst, shapeNames[k.slots[in.dst].shape])
		} else {
			fmt.Fprint(w, "    hold")
		}
		fmt.Fprintf(w, " %s", in.op)
		for _, a := range in.args {
			fmt.Fprintf(w, " %%%d", a)
		}
		fmt.Fprintln(w)
	}
	fmt.Fprintf(w, "    result %%%d:%s\n", k.out, shapeNames[k.slots[k.out].shape])
}
