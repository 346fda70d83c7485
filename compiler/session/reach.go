package session

import (
	"slices"
	"sync"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/grid"
	"fettle/compiler/limit"
	"fettle/lang/formula"
)

// engine is what maps are computed and limits judged with: of the workspace, or of
// a look at tables.
type engine struct {
	p       *check.Program
	eval    *eval.Program
	limits  *limit.Checker
	only    []bool // of a look: the maps that are computed; the others stand as they are
	mu      sync.Mutex
	reaches []*reach // the last that was used at the end
}

// reach is what an edit of some rows of some maps can change: the maps that are
// computed by rows and those that are computed whole, and what of the limits and
// checks reads them.
type reach struct {
	*engine
	edited   []bool
	from, to int // rows of the edited maps that are computed by rows
	rows     *rows
	stages   []stage      // the maps that are computed whole
	changes  []bool       // all of them, and those by rows
	reading  []limitReach // by limit
	expects  map[*check.Expect]bool
}

// stage is maps that are computed whole at a time.
type stage struct {
	maps   []bool
	needs  []bool // those and what they read
	reads  []int  // what they read of the others
	edited bool
}

type limitReach struct {
	reads   []int // maps that it reads
	part    *limit.Part
	depends bool // on what the edit can change, however many maps lie between
}

// maxReaches is how many are kept: as many as a tuner goes back and forth between.
const maxReaches = 32

// editOf finds what some bases can change; nil if none has really changed.
func (e *engine) editOf(bases []check.Base) *reach {
	at := newEdit(e.p)
	for i := range bases {
		m := e.p.Maps[bases[i].Map]
		from, to := changedRows(&m.Base, &bases[i].Base)
		at.add(m, from, to)
	}
	if !slices.Contains(at.maps, true) {
		return nil
	}
	return e.reachOf(at)
}

// edit is maps that changed, and in which rows those over two axes did, as long as
// they have the same rows.
type edit struct {
	maps     []bool
	lead     *check.Map
	from, to int
}

func newEdit(p *check.Program) *edit { return &edit{maps: make([]bool, len(p.Maps))} }

// add adds rows of a map; none if it hasn't changed.
func (at *edit) add(m *check.Map, from, to int) {
	if from == to {
		return
	}
	at.maps[m.Index] = true
	switch {
	case len(m.Axes) != 2:
	case at.lead == nil:
		at.lead, at.from, at.to = m, from, to
	case sameRows(at.lead, m):
		at.from, at.to = min(at.from, from), max(at.to, to)
	}
}

// reachOf finds what an edit can change, or works it out.
func (e *engine) reachOf(at *edit) *reach {
	e.mu.Lock()
	defer e.mu.Unlock()
	for i, r := range e.reaches {
		if r.from == at.from && r.to == at.to && slices.Equal(r.edited, at.maps) {
			e.reaches = append(slices.Delete(e.reaches, i, i+1), r)
			return r
		}
	}
	r := e.newReach(at)
	if len(e.reaches) == maxReaches {
		e.reaches = slices.Delete(e.reaches, 0, 1)
	}
	e.reaches = append(e.reaches, r)
	return r
}

// changedRows finds the rows in which two tables differ, from the first to the last.
func changedRows(a, b *grid.Table) (from, to int) {
	nc := len(a.Cols)
	for r := range a.NRows() {
		if !same(a.Cells[r*nc:(r+1)*nc], b.Cells[r*nc:(r+1)*nc]) {
			if to == 0 {
				from = r
			}
			to = r + 1
		}
	}
	return from, to
}

func sameRows(a, b *check.Map) bool {
	return len(b.Axes) == 2 && a.Axes[0] == b.Axes[0] && same(a.Base.Rows, b.Base.Rows)
}

func (e *engine) newReach(at *edit) *reach {
	p, edited, lead := e.p, at.maps, at.lead
	r := &reach{engine: e, edited: edited, from: at.from, to: at.to}
	byRow, whole := make([]bool, len(p.Maps)), make([]bool, len(p.Maps))
	few := lead != nil && 2*(at.to-at.from) <= len(lead.Base.Rows)
	for _, i := range p.Order {
		m, stands := p.Maps[i], e.only != nil && !e.only[i]
		one := make([]bool, len(p.Maps))
		one[i] = true
		_, reads := needs(p, one)
		reads = slices.DeleteFunc(reads, func(o int) bool { return !byRow[o] && !whole[o] })
		if !edited[i] && (stands || len(reads) == 0) {
			continue
		}
		fromWhole := slices.ContainsFunc(reads, func(o int) bool { return whole[o] })
		byRow[i] = true // so that its readings of itself are looked at
		byRow[i] = few && sameRows(lead, m) && (stands || !fromWhole && byRows(p, m, byRow))
		whole[i] = !byRow[i]
	}
	r.changes = make([]bool, len(p.Maps))
	computed := [2][]bool{make([]bool, len(p.Maps)), make([]bool, len(p.Maps))} // by rows, whole
	for i := range r.changes {
		r.changes[i] = byRow[i] || whole[i]
		if e.only == nil || e.only[i] {
			computed[0][i], computed[1][i] = byRow[i], whole[i]
		}
	}
	if slices.Contains(computed[0], true) {
		r.rows = newRows(p, computed[0], r.from, r.to)
	}
	r.stages = stagesOf(p, computed[1], edited)
	for i := range p.Limits {
		r.reading = append(r.reading, r.limit(i, lead, byRow, whole))
	}
	r.expects = map[*check.Expect]bool{}
	for _, k := range p.Checks {
		for _, e := range k.Expects {
			for _, n := range []*formula.Node{e.Cond, e.Left, e.Right, e.Tol} {
				if n != nil && r.atPoint(p, n, byRow, whole) {
					r.expects[e] = true
				}
			}
		}
	}
	return r
}

// stagesOf takes the maps that are computed whole apart: the edited ones first if
// they read none of the others, since often nothing comes of an edit.
func stagesOf(p *check.Program, whole, edited []bool) (out []stage) {
	first, rest := make([]bool, len(whole)), make([]bool, len(whole))
	for i := range whole {
		first[i], rest[i] = whole[i] && edited[i], whole[i] && !edited[i]
	}
	if _, reads := needs(p, first); slices.ContainsFunc(reads, func(i int) bool { return rest[i] }) {
		first, rest = whole, nil
	}
	for i, maps := range [][]bool{first, rest} {
		if slices.Contains(maps, true) {
			need, reads := needs(p, maps)
			out = append(out, stage{maps, need, reads, i == 0})
		}
	}
	return out
}

// limit is what a limit, by its place in the program, reads of what can change.
func (r *reach) limit(k int, lead *check.Map, byRow, whole []bool) limitReach {
	p, l := r.p, r.p.Limits[k]
	read := make([]bool, len(p.Maps))
	for _, n := range []*formula.Node{l.Cond, l.Where, l.Lo, l.Hi} {
		for _, i := range n.MapsUsed() {
			read[i] = true
		}
	}
	var out limitReach
	wholly := false
	for i, need := range p.Needed(read) {
		out.depends = out.depends || need && r.changes[i]
		if read[i] && r.changes[i] {
			out.reads = append(out.reads, i)
			wholly = wholly || whole[i]
		}
	}
	if out.depends && !wholly && lead != nil && len(l.Axes) == 2 && l.Axes[0] == lead.Axes[0] {
		out.part = r.part(k, lead, byRow)
	}
	return out
}

// part is the rows of a limit's cells that depend on the edited rows of maps:
// those strictly between the row before these and the row after them.
func (r *reach) part(k int, lead *check.Map, byRow []bool) *limit.Part {
	p, l, axis := r.p, r.p.Limits[k], lead.Axes[0]
	onward := limit.Onward(l, axis)
	in := inRow
	if onward {
		in = inRowOrNext
	}
	if !in(p, l.Cond, axis, byRow) || !in(p, l.Where, axis, byRow) {
		return nil
	}
	rows, points := r.limits.Grid(k).Rows, lead.Base.Rows
	from, to := 0, len(rows)
	for r.from > 0 && from < to && rows[from] <= points[r.from-1] {
		from++
	}
	for r.to < len(points) && to > from && rows[to-1] >= points[r.to] {
		to--
	}
	if onward {
		from = max(from-1, 0)
	}
	if from >= to {
		return nil
	}
	return r.limits.Part(k, from, to, onward)
}

// inRowOrNext is inRow where steps to the next row count as in the row.
func inRowOrNext(p *check.Program, n *formula.Node, rowAxis int, marked []bool) bool {
	ok := true
	if n == nil {
		return true
	}
	n.Walk(func(k *formula.Node) {
		if k.Op == formula.StepOf {
			ok = ok && (!marked[k.A] || p.Maps[k.A].Axes[0] == rowAxis)
		} else if len(k.Kids) == 0 || k.Op == formula.MapAt {
			ok = ok && inRow(p, k, rowAxis, marked)
		}
	})
	return ok
}

// atPoint says whether an expected value reads what can change: of a map by rows,
// where a look-up leads to.
func (r *reach) atPoint(p *check.Program, n *formula.Node, byRow, whole []bool) bool {
	found := false
	n.Walk(func(k *formula.Node) {
		switch k.Op {
		case formula.MapHere, formula.StepOf:
			found = found || byRow[k.A] || whole[k.A]
		case formula.MapAt:
			at := formula.Strip(k.Kids[0])
			if !byRow[k.A] || at.Op != formula.Const {
				found = found || byRow[k.A] || whole[k.A]
				return
			}
			knot := grid.Find(p.Maps[k.A].Base.Rows, at.Val)
			found = found || knot.F != knot.F || knot.I < r.to && knot.I >= r.from || knot.F != 0 && knot.I+1 < r.to && knot.I+1 >= r.from
		}
	})
	return found
}
