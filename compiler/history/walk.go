package history

import (
	"slices"
	"strings"
	"sync"

	"fettle/compiler/git"
	"fettle/compiler/grid"
	"fettle/lang/diag"
)

// walk goes from the work tree back. Commits are known by their number in the
// list, in which each stands before those that it comes from.
type walk struct {
	q      Question
	list   []git.Commit
	index  map[string]int // of a commit, by its hash
	load   *loader
	cell   *cell
	tune   string
	log    *Log
	named  map[int]string // the commits that are followed, and what the tune is called there
	told   map[int]string // broken ones that lie on the way, alike
	states map[stateKey]*state
	work   sync.WaitGroup // attributions under way
	failed error
}

type stateKey struct{ folder, tune string }

// past is a commit that another comes from, and the broken ones between them.
type past struct {
	i    int
	over []int
}

func (w *walk) run() error {
	defer w.work.Wait()
	s, err := w.state(workTree, w.tune)
	if err != nil {
		return err
	}
	w.log.Now = s.value(w.tune)
	if s.kind == broken {
		w.log.Fault = faultText(s.errors, s.place, s.why)
		w.log.fails = s.errors > 0
		if !w.committed() {
			w.told[workTree] = w.tune
		}
		pasts, over := w.pasts(workTree, w.tune)
		for _, p := range pasts {
			w.follow(p, w.tune)
		}
		if len(pasts) == 0 {
			w.tell(over, w.tune)
		}
	} else {
		w.named[workTree] = w.tune
	}
	for i := workTree; i < len(w.list) && w.failed == nil; i++ {
		if w.q.Max > 0 && len(w.log.Rows) >= w.q.Max {
			w.log.Left = len(w.list) - i
			break
		}
		name, followed := w.named[i]
		faulty, told := w.told[i]
		if (followed || told) && i != workTree {
			w.log.Looked++
		}
		if w.q.Step != nil {
			w.q.Step(i+1, len(w.list))
		}
		switch {
		case told:
			w.faultRow(i, faulty)
		case followed:
			w.visit(i, name)
		}
	}
	if w.failed == nil {
		w.settle()
	}
	return w.failed
}

// committed says whether the work tree's source is the newest commit's.
func (w *walk) committed() bool {
	if len(w.list) == 0 {
		return false
	}
	src, err := w.load.get(0)
	return err == nil && w.load.same(workTree, src)
}

// state looks the cell up at a commit.
func (w *walk) state(i int, tune string) (*state, error) {
	f, err := w.load.hash(i)
	if err != nil {
		return nil, err
	}
	key := stateKey{f, tune}
	if s := w.states[key]; s != nil {
		return s, nil
	}
	src, err := w.load.get(i)
	if err != nil {
		return nil, err
	}
	w.states[key] = w.cell.look(src, tune)
	return w.states[key], nil
}

// at is state, with a failure kept for the end.
func (w *walk) at(i int, tune string) *state {
	s, err := w.state(i, tune)
	if err != nil {
		if w.failed == nil {
			w.failed = err
		}
		return &state{kind: missing}
	}
	return s
}

// pasts lists the commits that one comes from, the first parent's side first.
// Broken ones are stepped over, to those that they come from, and listed apart.
func (w *walk) pasts(i int, tune string) (out []past, all []int) {
	seen := map[int]bool{}
	var step func(i int, over []int)
	step = func(i int, over []int) {
		for _, k := range w.before(i) {
			if seen[k] {
				continue
			}
			seen[k] = true
			if w.at(k, tune).kind == broken {
				all = append(all, k)
				step(k, append(slices.Clone(over), k))
			} else {
				out = append(out, past{k, over})
			}
		}
	}
	step(i, nil)
	return out, all
}

func (w *walk) before(i int) []int {
	if i == workTree {
		if len(w.list) == 0 {
			return nil
		}
		return []int{0}
	}
	var out []int
	for _, hash := range w.list[i].Before {
		if k, ok := w.index[hash]; ok {
			out = append(out, k)
		}
	}
	return out
}

// follow goes on with a commit, under a name of the tune. The broken ones before
// it are told.
func (w *walk) follow(p past, tune string) {
	w.tell(p.over, tune)
	if _, ok := w.named[p.i]; !ok {
		w.named[p.i] = tune
	}
}

func (w *walk) tell(over []int, tune string) {
	for _, k := range over {
		if _, ok := w.told[k]; !ok {
			w.told[k] = tune
		}
	}
}

// visit compares a commit with those that it comes from, and chooses which of
// them to follow.
func (w *walk) visit(i int, tune string) {
	now := w.at(i, tune)
	pasts, over := w.pasts(i, tune)
	for _, p := range pasts {
		if same(now, w.at(p.i, tune)) {
			w.follow(p, tune)
			return
		}
	}
	if len(pasts) == 0 {
		w.tell(over, tune)
		w.begins(i, tune, now, over)
		return
	}
	var had []past // where the cell is there
	for _, p := range pasts {
		if w.at(p.i, tune).kind == there {
			had = append(had, p)
		} else if was := w.calledBefore(i, p.i, tune); was != "" {
			w.renamedRow(i, p, tune, was, now)
			w.follow(p, was)
			return
		}
	}
	switch {
	case now.kind == missing:
		w.goneRow(i, had[0], tune, now)
	case len(had) > 0:
		w.changeRow(i, had, tune, now)
	default:
		r := w.row(i, &Row{Kind: New, After: now.value(tune), Over: w.hashes(pasts[0].over)})
		if was := w.at(pasts[0].i, tune); was.otherAxes {
			r.Why = "before it " + was.why
		}
	}
	for _, p := range pasts {
		w.follow(p, tune)
	}
}

// begins tells of a commit that has none before it but broken ones.
func (w *walk) begins(i int, tune string, now *state, over []int) {
	cut := false
	for _, k := range append([]int{i}, over...) {
		cut = cut || k != workTree && w.list[k].Cut
	}
	w.log.Shallow = w.log.Shallow || cut
	kind := New
	if cut {
		kind = Cut
	}
	if now.kind == there {
		w.row(i, &Row{Kind: kind, After: now.value(tune), Over: w.hashes(over)})
	}
}

// row adds a row to the log.
func (w *walk) row(i int, r *Row) *Row {
	if i != workTree {
		c := w.list[i]
		r.Commit = &Commit{c.Hash, c.Short, c.Author, c.Date, c.Subject, len(c.Parents) > 1}
	}
	if r.Parts == nil {
		r.Parts = []Part{}
	}
	w.log.Rows = append(w.log.Rows, r)
	return r
}

func (w *walk) faultRow(i int, tune string) {
	s := w.at(i, tune)
	w.row(i, &Row{Kind: Broken, Why: s.why, Place: s.place, Errors: s.errors})
}

func (w *walk) goneRow(i int, p past, tune string, now *state) {
	r := &Row{Kind: Gone, Before: w.at(p.i, tune).value(tune), Since: w.list[p.i].Hash, Over: w.hashes(p.over), text: rowText{since: w.list[p.i].Short}, Why: now.why, Place: now.place}
	if name := w.calledNow(i, p.i, tune); name != "" {
		r.Why = "it is called " + name + " from here on"
	}
	w.row(i, r)
}

func (w *walk) renamedRow(i int, p past, tune, was string, now *state) {
	w.row(i, &Row{Kind: Renamed, Before: w.at(p.i, was).value(was), After: now.value(tune), Since: w.list[p.i].Hash, Over: w.hashes(p.over), text: rowText{since: w.list[p.i].Short}})
}

// changeRow tells of a changed value, against the first parent's side that has
// one.
func (w *walk) changeRow(i int, had []past, tune string, now *state) {
	p := had[0]
	r := &Row{Kind: Changed, Before: w.at(p.i, tune).value(tune), After: now.value(tune), Since: w.list[p.i].Hash, Over: w.hashes(p.over), text: rowText{since: w.list[p.i].Short}}
	for k, x := range w.at(p.i, tune).at {
		r.text.at = append(r.text.at, w.cell.axes[k].name+"="+grid.Exact(x))
	}
	for _, o := range had[1:] {
		r.Merged = append(r.Merged, Side{w.list[o.i].Hash, w.at(o.i, tune).value(tune)})
	}
	w.row(i, r)
	w.attribute(r, p.i, i, tune)
}

// settle tells whether what is new is there for the first time, which can be said
// where all there is has been looked at.
func (w *walk) settle() {
	gone := false
	for i := len(w.log.Rows) - 1; i >= 0; i-- {
		switch r := w.log.Rows[i]; {
		case r.Kind == Gone:
			gone = true
		case r.Kind == New && gone:
			r.Kind = Again
		case r.Kind == New && w.log.Left == 0 && !w.log.Shallow:
			r.Kind = First
		}
	}
}

func (w *walk) hashes(list []int) []string {
	var out []string
	for _, k := range list {
		out = append(out, w.list[k].Hash)
	}
	return out
}

// title names a commit.
func (w *walk) title(i int) string {
	if i == workTree {
		return "the work tree"
	}
	return w.list[i].Short
}

// faultText is what is wrong: "2 errors, tune.fettle:12 …".
func faultText(errors int, place, why string) string {
	text := strings.TrimSpace(place + " " + why)
	if errors > 0 {
		text = diag.Counted(errors, "error") + ", " + text
	}
	return text
}
