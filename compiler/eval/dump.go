package eval

import (
	"fmt"
	"io"
)

// Dump writes the kernels of every map, in the order in which maps are computed:
// each instruction with its slots and shapes. For people who work on fettle.
func (p *Program) Dump(w io.Writer) {
	for _, i := range p.Check.Order {
		m := p.Check.Maps[i]
		fmt.Fprintf(w, "map %s, %d cells\n", m.Name, p.cells[i].N())
		dumpKernel(w, "base", p.bases[i])
		for _, s := range m.Steps {
			dumpKernel(w, fmt.Sprintf("rule %s %s amount (%s)", s.Rule.Name, s.Op, s.Span), p.steps[s].amount)
			dumpKernel(w, "where", p.steps[s].where)
		}
		for _, l := range m.Clamps {
			dumpKernel(w, "clamp "+l.Name+" high", p.clamps[l].hi)
			dumpKernel(w, "clamp "+l.Name+" low", p.clamps[l].lo)
		}
	}
}

var shapeNames = [...]string{scalar: "one", byRow: "row", byCol: "column", full: "cell"}

func dumpKernel(w io.Writer, name string, k *kernel) {
	if k == nil {
		return
	}
	fmt.Fprintf(w, "  %s\n", name)
	for _, c := range k.consts {
		fmt.Fprintf(w, "    %%%d = %v\n", c.slot, c.val)
	}
	for _, in := range k.code {
		fmt.Fprintf(w, "    %%%d:%s = %s", in.dst, shapeNames[k.slots[in.dst]], in.op)
		for _, a := range in.args {
			fmt.Fprintf(w, " %%%d", a)
		}
		fmt.Fprintln(w)
	}
	fmt.Fprintf(w, "    result %%%d:%s\n", k.out, shapeNames[k.slots[k.out]])
}
