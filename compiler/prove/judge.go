package prove

import (
	"container/heap"
	"math"

	"fettle/compiler/eval"
	"fettle/compiler/interval"
	"fettle/compiler/limit"
	"fettle/lang/formula"
)

// bound is how little room a limit may have in a box.
type bound struct {
	holds bool    // it holds everywhere in the box
	sure  bool    // the place is one where it breaks
	room  float64 // the least that is certain, in coherent units; infinite where nothing is looked at
	// Of the place where that is:
	part   int
	margin float64 // in the part's unit
	at     [2]float64
	sway   [maxConditions]float64 // what each condition does to the room there
}

// clip is a bound of `where` on an axis: nothing beyond it counts.
type clip struct {
	axis  int // 0 for the rows', 1 for the columns'
	lower bool
	at    int // in the pool
}

// clips finds the comparisons of an axis with what depends on the conditions alone.
func (x *Prover) clips(n *formula.Node, cells *eval.Cells) []clip {
	if n == nil {
		return nil
	}
	n = formula.Strip(n)
	if n.Op == formula.And {
		return append(x.clips(n.Kids[0], cells), x.clips(n.Kids[1], cells)...)
	}
	if n.Op < formula.Lt || n.Op > formula.Ge {
		return nil
	}
	l, r := formula.Strip(n.Kids[0]), formula.Strip(n.Kids[1])
	lower := n.Op == formula.Gt || n.Op == formula.Ge
	if r.Op == formula.AxisVal {
		l, r, lower = r, l, !lower
	}
	if l.Op != formula.AxisVal || !still(r) {
		return nil
	}
	axis := 1
	if l.A == cells.RowAxis {
		axis = 0
	}
	return []clip{{axis, lower, x.pool.add(r)}}
}

// judging is the judging of a box by a limit.
type judging struct {
	*box
	l     *limitCode
	out   bound
	noise []float64
	cells []cellRoom // by cell and part, of those that are told by corners
	open  rects      // what is told by rectangles
	mem   place      // of a corner
	axis  [2]float64 // what each axis did to the room that was measured last
}

// cellRoom is a part's room at a cell.
type cellRoom struct {
	known bool
	r     partRoom
}

// partRoom is the room of a part at a place.
type partRoom struct {
	holds  bool
	breaks bool // it holds nowhere at that place
	margin float64
	sway   [maxConditions]float64
}

// judge finds how little room a limit may have in the box. Room above the goal is as
// good as any.
func (b *box) judge(l *limitCode, goal float64) bound {
	j := &judging{box: b, l: l, out: bound{holds: true, room: math.Inf(1)}}
	when, bad := b.holds(l.when)
	if when == no && !bad {
		return j.out
	}
	if bad || !b.need(l.need) {
		return bound{room: math.Inf(-1)}
	}
	rows, cols := nrows(l.cells), len(l.cells.Cols)
	if l.steps {
		at := &place{cells: l.cells}
		for r := range rows {
			for c := range cols {
				at.cell(r, c)
				if at.hi = at.lo; j.looksAt(at) == no {
					continue
				}
				for i := range l.parts {
					j.note(i, at.rect, j.measure(i, at))
				}
			}
		}
		return j.out
	}
	for i := range l.parts {
		p := &l.parts[i]
		n := 0.0
		if p.corners {
			n = float64(2 * (b.noise(p.left, l.cells) + b.noise(p.right, l.cells)))
		}
		j.noise = append(j.noise, n)
	}
	j.cells = make([]cellRoom, rows*cols*len(l.parts))
	var at place
	for r := range max(rows-1, 1) {
		for c := range max(cols-1, 1) {
			if at.cells = l.cells; j.clipped(&at, r, c) {
				j.patch(&at)
			}
		}
	}
	j.cut(goal)
	return j.out
}

// clipped puts a place at the patch from a cell to the next ones, as far as the
// `where` may look at it; false if it doesn't.
func (j *judging) clipped(at *place, r, c int) bool {
	g := j.l.cells
	set := func(k, i int, points []float64) {
		at.lo[k] = line{i, points[i]}
		next := min(i+1, len(points)-1)
		at.hi[k] = line{next, points[next]}
	}
	if g.RowAxis >= 0 {
		set(0, r, g.Rows)
	}
	set(1, c, g.Cols)
	for _, clip := range j.l.clips {
		v := j.scalar(clip.at)
		lo, hi := &at.lo[clip.axis], &at.hi[clip.axis]
		switch {
		case v.bad:
		case clip.lower && v.Lo > hi.x, !clip.lower && v.Hi < lo.x:
			return false
		case clip.lower && v.Lo == hi.x:
			*lo = *hi
		case clip.lower && v.Lo > lo.x:
			*lo = line{-1, v.Lo}
		case !clip.lower && v.Hi == lo.x:
			*hi = *lo
		case !clip.lower && v.Hi < hi.x:
			*hi = line{-1, v.Hi}
		}
	}
	return true
}

// looksAt decides the limit's `where` at a place.
func (j *judging) looksAt(at *place) interval.Truth {
	if j.l.where == nil {
		return yes
	}
	v := j.run(j.l.where, at)
	if v.bad {
		return maybe
	}
	return v.truth()
}

// patch judges a rectangle by every part.
func (j *judging) patch(at *place) {
	if j.l.where != nil {
		at.spread()
		if j.looksAt(at) == no {
			return
		}
	}
	for i := range j.l.parts {
		if !j.l.parts[i].corners {
			j.whole(i, at)
			continue
		}
		r := j.atCorners(i, at)
		if !r.holds { // the slack may be larger than it is sure to be for all the patch
			at.spread()
			whole := j.measure(i, at)
			r.holds = whole.holds
			r.margin = max(r.margin, whole.margin)
		}
		j.note(i, at.rect, r)
	}
}

// whole judges a rectangle as a whole by one part.
func (j *judging) whole(i int, at *place) {
	at.spread()
	r := j.measure(i, at)
	heap.Push(&j.open, &cutting{rect: at.rect, part: i, partRoom: r, room: j.room(i, r), axis: j.axis, nth: len(j.open)})
}

// atCorners is the least room of a part at the corners of a rectangle, less what
// rounding can make between them.
func (j *judging) atCorners(i int, at *place) partRoom {
	p := &j.l.parts[i]
	out := partRoom{holds: true, margin: math.Inf(1)}
	rows := 2
	if j.l.cells.RowAxis < 0 {
		rows = 1
	}
	for r := range rows {
		for c := range 2 {
			ri, ci := at.lo[0].i, at.lo[1].i
			if r == 1 {
				ri = at.hi[0].i
			}
			if c == 1 {
				ci = at.hi[1].i
			}
			var known *cellRoom
			if ri >= 0 && ci >= 0 {
				known = &j.cells[(ri*len(j.l.cells.Cols)+ci)*len(j.l.parts)+i]
			}
			var room partRoom
			if known != nil && known.known {
				room = known.r
			} else {
				j.mem.corner(at, r, c)
				if room = j.measure(i, &j.mem); known != nil {
					*known = cellRoom{true, room}
				}
			}
			if room.margin < out.margin {
				out.margin, out.sway = room.margin, room.sway
			}
		}
	}
	out.margin -= j.noise[i]
	scale := 0.0 // of the slack, which is a share of the greater side
	for k, c := range [2]*code{p.left, p.right} {
		if p.still[k] {
			scale = max(scale, j.scalar(c.ops[len(c.ops)-1].pool).Mig())
		}
	}
	out.holds = out.margin >= -float64(limit.Slack*scale)*(1-0x1p-40)
	return out
}

// measure is the room of a part at a place.
func (j *judging) measure(i int, at *place) partRoom {
	p := &j.l.parts[i]
	j.axis = [2]float64{}
	if p.cond != nil {
		v := j.run(p.cond, at)
		if v.truth() == yes && !v.bad {
			return partRoom{holds: true, margin: math.Inf(1)}
		}
		return partRoom{margin: math.Inf(-1), breaks: v.truth() == no && !v.bad}
	}
	left := *j.run(p.left, at)
	right := *j.run(p.right, at)
	if left.bad || right.bad {
		return partRoom{margin: math.Inf(-1)}
	}
	var apart form
	switch p.Op {
	case formula.Lt, formula.Le:
		apart.add(&right, &left, -1)
	case formula.Gt, formula.Ge:
		apart.add(&left, &right, -1)
	default:
		apart.add(&left, &right, -1)
		apart.Lo = -apart.Mag()
	}
	out := partRoom{margin: apart.Lo}
	scale := max(left.Mig(), right.Mig())
	out.holds = apart.Lo >= -float64(limit.Slack*scale)*(1-0x1p-40)
	j.axis = [2]float64{math.Abs(apart.a[rowSymbol]), math.Abs(apart.a[colSymbol])}
	for k := range out.sway {
		out.sway[k] = math.Abs(apart.a[firstCondition+k])
	}
	return out
}

// room is the room of a part in coherent units.
func (j *judging) room(i int, r partRoom) float64 {
	if p := &j.l.parts[i]; p.cond == nil {
		return float64(r.margin * p.Size)
	}
	return r.margin
}

// note keeps the room of a part at a place, if it is the least so far.
func (j *judging) note(i int, at rect, r partRoom) {
	if !r.holds {
		j.out.holds = false
	}
	room := j.room(i, r)
	if sure := r.breaks && !j.out.sure; sure || room < j.out.room && !j.out.sure {
		j.out.sure = sure
		for k := range 2 {
			j.out.at[k] = float64(at.lo[k].x/2) + float64(at.hi[k].x/2)
		}
	}
	if room < j.out.room {
		j.out.room, j.out.part, j.out.margin, j.out.sway = room, i, r.margin, r.sway
	}
}
