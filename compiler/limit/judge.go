package limit

import (
	"math"

	"fettle/compiler/check"
	"fettle/compiler/eval"
)

// tie is a part of a margin that float noise can make: of cells that are as near
// as that, the first in order counts.
const tie = 1e-9

// least is the least room in which a comparison surely holds.
const least = math.SmallestNonzeroFloat64

// settle finds the worst cell and the state.
func (v *Verdict) settle(k *look, mem *memory, at []float64) (problem string) {
	over := mem.begin(k)
	w, ok := k.nearest(over)
	if !ok {
		w = worst{cell: -1}
		if problem = w.search(k, over); problem != "" {
			return problem
		}
	}
	v.sure, v.cell, v.room = ok, w.cell, w.room
	if v.Bad = w.count; v.Bad > 0 {
		v.State = Fails
		if v.Limit.Mode == check.Warn {
			v.State = Warns
		}
	}
	if w.cell < 0 {
		v.State = NotHere // its `where` holds in no cell
		return ""
	}
	v.At, v.told = appendPlace(at, k.lo.cells, w.cell), w.part
	if v.HasMargin = w.part >= 0; v.HasMargin {
		v.Value, v.Bound, v.Margin = k.told(w.part, w.cell)
		v.Unit = k.lo.parts[w.part].unit
	}
	return ""
}

// worst is the worst cell so far, in the order of the cells.
type worst struct {
	cell int // -1 while there is none
	found
	count int     // of bad cells so far
	floor float64 // the room from which on a cell is neither bad nor worse
}

// meet looks closely at a cell.
func (w *worst) meet(k *look, i int) (problem string) {
	if !k.looks(i) {
		return ""
	}
	f := k.cell(i)
	if !f.finite {
		return notFinite
	}
	if f.bad {
		w.count++
	}
	if w.cell < 0 || f.bad && !w.bad || f.bad == w.bad && f.room < reach(w.room) {
		w.cell, w.found, w.floor = i, f, least
		if r := reach(f.room); !f.bad && r > 0 {
			w.floor = r
		}
	}
	return ""
}

// reach is the room that a cell must fall short of to be worse than one with the
// room given.
func reach(room float64) float64 { return room - float64(tie*math.Abs(room)) }

// search goes over the cells in order. Nearly all have more room than the worst so
// far, in each comparison, and are passed over in a loop that finds out no more than
// that.
func (w *worst) search(k *look, over []passing) (problem string) {
	i := 0
	for i < k.n && !k.looks(i) {
		i++
	}
	if i < k.n {
		problem = w.meet(k, i)
	}
	for i = k.next(over, i+1, w.floor); i < k.n && problem == ""; i = k.next(over, i+1, w.floor) {
		problem = w.meet(k, i)
	}
	return problem
}

// nearest finds the worst cell at once where a limit has the same bounds for all
// cells and holds in all with room to spare, as nearly always. Then the least room
// of any cell is known, and the first cell that has no more than some ties of it is
// what a search would end at: a cell before it has more ties of room than that, and
// none after it is a tie worse. False where that isn't sure.
func (k *look) nearest(over []passing) (w worst, ok bool) {
	room := math.Inf(1)
	for i := range over {
		room = min(room, over[i].least)
	}
	if !(room > 1e-280) || k.where.v != nil {
		return w, false
	}
	i := k.next(over, 0, room+float64(4*tie*room))
	if i == k.n {
		return w, false
	}
	w = worst{cell: i, found: k.cell(i)}
	ok = w.finite && reach(w.room) <= room
	for n := range over {
		over[n].at = 0
	}
	return w, ok
}

// passing is how far going over the cells got in one part of a limit.
type passing struct {
	difference
	holds values // of a condition without a margin, in place of the difference
	at    int
}

// begin begins to go over the cells of a look.
func (m *memory) begin(k *look) []passing {
	m.over = m.over[:0]
	for i := range k.sides {
		if k.lo.parts[i].cond != nil {
			m.over = append(m.over, passing{holds: k.sides[i].left})
		} else {
			m.over = append(m.over, passing{difference: m.difference(k, i)})
		}
	}
	return m.over
}

// next is the first cell, from one on, that some part can't pass over. As the floor
// only falls, what was passed over once stays so.
func (k *look) next(over []passing, from int, floor float64) int {
	end := k.n
	for n := range over {
		p := &over[n]
		if p.at = max(p.at, from); p.at >= end {
			continue
		}
		if p.holds.v != nil {
			for p.at < end && p.holds.at(p.at) != 0 {
				p.at++
			}
		} else {
			p.at = p.above(p.at, end, floor, k.where)
		}
		end = p.at
	}
	return end
}

// difference is the room of a comparison in each cell, (x - y) * size.
type difference struct {
	x      values
	y      float64
	size   float64 // 0 for ==
	finite bool    // x and y
	least  float64 // room of all cells, where it is finite
}

func (m *memory) difference(k *look, part int) difference {
	p, s := &k.lo.parts[part], &k.sides[part]
	x, y, size := s.left, s.right, -p.size*float64(p.above())
	switch {
	case x.step+y.step == 2:
		apart := m.take(k.n)
		eval.Subtract(apart, x.v, y.v)
		x, y = values{apart, 1}, values{zero, 0}
	case y.step == 1:
		x, y, size = y, x, -size
	}
	d := difference{x: x, y: y.v[0], size: size}
	lo, hi, finite := eval.Extent(d.x.v)
	d.finite = finite && d.y-d.y == 0
	if d.finite {
		d.least = min((lo-d.y)*d.size, (hi-d.y)*d.size)
	}
	return d
}

var zero = []float64{0}

// above gives the first cell, from one to another, that can't be passed over: it
// counts, and its room isn't above the floor, or that isn't known.
func (d *difference) above(i, end int, floor float64, where values) int {
	y, size := d.y, d.size
	switch {
	case where.v != nil:
		for i < end && (where.at(i) == 0 || d.finite && (d.x.at(i)-y)*size >= floor) {
			i++
		}
	case !d.finite:
	case d.x.step == 0:
		if d.least >= floor {
			return end
		}
	default:
		x := d.x.v[:end]
		for i < len(x) && (x[i]-y)*size >= floor {
			i++
		}
	}
	return i
}
