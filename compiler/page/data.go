package page

import (
	"encoding/binary"
	"encoding/json"
	"math"
	"slices"
	"sort"
	"strconv"
	"strings"

	"fettle/compiler/check"
	"fettle/compiler/diff"
	"fettle/compiler/eval"
	"fettle/compiler/grid"
	"fettle/compiler/review"
	"fettle/lang/diag"
)

// data is what the script shows, with everything that is used more than once
// kept in one place and told by its number there.
type data struct {
	sides    [2]string
	call     string
	why      string // the call whose why explains a cell; "" where there is none
	cols     *columns
	reals    reals
	texts    pool[string]
	textAt   map[string]int // by what it was before it was cleaned
	axes     pool[axis]
	axesAt   map[axisKey]int
	maps     pool[mapHead]
	elements pool[element]
	steps    pool[step]
	bases    pool[base]
	chains   pool[chain]
	tunes    []tune
	made     map[any]int // by a thing of a program: its place
	seen     map[*diff.Element]int
	tables   map[*diff.Table]int // their columns of printed values
	read     map[*check.Map][]int
	facts    map[factsKey]int
}

type axis struct {
	Name   string    `json:"n"`
	Unit   string    `json:"u"`
	Points []float64 `json:"p"`
}

// mapHead is a map, apart from its cells.
type mapHead struct {
	Name   string `json:"n"`
	Unit   string `json:"u"`
	Change string `json:"d"` // the unit of a change
}

type element struct {
	Name  string `json:"n"`
	Place string `json:"p"`
	Why   string `json:"y"`
}

type tune struct {
	Name  string      `json:"n"`
	Why   string      `json:"w,omitempty"` // its name as `why` takes it, on the new side
	Group int         `json:"g"`
	Quiet int         `json:"q,omitempty"` // 1 where the policy hides every cell that differs
	Given [][3]string `json:"c,omitempty"` // conditions that differ
	Maps  []tuneMap   `json:"m"`
}

// tuneMap is a map of a tune that differs.
type tuneMap struct {
	Map      int      `json:"m"`
	Decimals int      `json:"d"`
	Shares   int      `json:"s,omitempty"` // 1 where changes are told as shares too
	Own      int      `json:"o,omitempty"` // 1 where its cells are its own, and not a formula's
	Rows     int      `json:"r"`           // in axes; -1 over one axis
	Cols     int      `json:"c"`
	Before   int      `json:"a"` // columns; -1 where the tables are left out
	After    int      `json:"b"`
	Parts    [][2]int `json:"p,omitempty"` // element, column; -1 for the whole change
	Hidden   []int    `json:"h,omitempty"` // cells that the policy hides
	Chains   []int    `json:"x,omitempty"` // before, after; -1 for none
	Notes    []string `json:"t,omitempty"`
	Problem  string   `json:"e,omitempty"`
}

// pool keeps values, each once.
type pool[T any] struct {
	list  []T
	index map[string]int
}

func (p *pool[T]) add(v T) int {
	key, err := json.Marshal(v)
	if err != nil {
		key = []byte(strconv.Itoa(len(p.list))) // what can't be written is alike with nothing
	}
	if at, ok := p.index[string(key)]; ok {
		return at
	}
	if p.index == nil {
		p.index = map[string]int{}
	}
	p.list = append(p.list, v)
	p.index[string(key)] = len(p.list) - 1
	return len(p.list) - 1
}

// reals keeps columns of numbers that are told as they are, each once.
type reals struct {
	list  [][]float64
	index map[string]int // by their bits
}

func (k *reals) add(list []float64) int {
	key := make([]byte, 0, 8*len(list))
	for _, x := range list {
		key = binary.LittleEndian.AppendUint64(key, math.Float64bits(x))
	}
	if at, ok := k.index[string(key)]; ok {
		return at
	}
	if k.index == nil {
		k.index = map[string]int{}
	}
	k.list = append(k.list, list)
	k.index[string(key)] = len(k.list) - 1
	return len(k.list) - 1
}

// axisKey is an axis by where its breakpoints are kept: tables of a program share
// them.
type axisKey struct {
	name, unit string
	first      *float64
	n          int
}

// axis keeps an axis and gives its place.
func (d *data) axis(a axis) int {
	if len(a.Points) == 0 {
		return d.axes.add(a)
	}
	key := axisKey{a.Name, a.Unit, &a.Points[0], len(a.Points)}
	at, ok := d.axesAt[key]
	if !ok {
		at = d.axes.add(a)
		d.axesAt[key] = at
	}
	return at
}

// newData collects the data of a review: tables of the first so many entries,
// chains of the first so many.
func newData(r *review.Review, call string, tables, chains int) *data {
	d := &data{sides: [2]string{clean(r.Old.Title), clean(r.New.Title)}, call: call, cols: newColumns(), made: map[any]int{}, tables: map[*diff.Table]int{}, seen: map[*diff.Element]int{},
		textAt: map[string]int{}, axesAt: map[axisKey]int{}, read: map[*check.Map][]int{}, facts: map[factsKey]int{}}
	if d.why = call; r.New.Folder != "" {
		d.why = review.InFolder(call, r.New.Folder)
	}
	d.text("")
	groups := map[*review.Group]int{}
	for i, g := range r.Groups {
		groups[g] = i
	}
	entries := entriesOf(r)
	chainsOf := allTraced(entries[:max(0, min(chains, len(entries)))])
	for i, e := range entries {
		group, ok := groups[e.Group]
		if !ok {
			group = -1
		}
		var res [2]*eval.Result
		if i < chains {
			res = chainsOf(i)
		}
		d.tune(e, group, i < tables, res)
		if i >= len(r.Entries) {
			d.tunes[i].Quiet = 1
		}
	}
	return d
}

func (d *data) tune(e *review.Entry, group int, tables bool, res [2]*eval.Result) {
	t := tune{Name: clean(e.Title()), Group: group, Maps: []tuneMap{}}
	if e.NewT != nil && e.NewT.Tune != nil {
		t.Why = clean(e.NewT.Tune.Name)
	}
	for _, c := range e.Pair.Conditions {
		t.Given = append(t.Given, [3]string{clean(c.Name), clean(c.Old), clean(c.New)})
	}
	for _, m := range ownFirst(e) {
		t.Maps = append(t.Maps, d.tuneMap(e, m, res, tables))
	}
	d.tunes = append(d.tunes, t)
}

func (d *data) tuneMap(e *review.Entry, em *review.EntryMap, res [2]*eval.Result, tables bool) tuneMap {
	m := em.Diff
	out := tuneMap{Map: d.maps.add(mapHead{m.Map, m.Unit, m.ChangeUnit}), Decimals: m.Decimals(), Rows: -1, Before: -1, After: -1, Problem: clean(m.Odd())}
	for _, n := range m.Notes {
		out.Notes = append(out.Notes, clean(n))
	}
	if m.Odd() != "" || !tables {
		return out
	}
	out.Cols = d.axis(axis(m.Cols))
	if m.Rows.Points != nil {
		out.Rows = d.axis(axis(m.Rows))
	}
	out.Before = d.column(m.Map, m.Decimals(), m.Before())
	out.After = d.column(m.Map, m.Decimals(), m.After(), out.Before)
	out.Hidden = hidden(em)
	for _, c := range m.Cells {
		if c.HasShare {
			out.Shares = 1
		}
	}
	if own(e, m) {
		out.Own = 1
	}
	d.parts(&out, m)
	for i, s := range []*diff.Side{e.Pair.Old, e.Pair.New} {
		at := d.chain(s, res[i], m.Map)
		if at >= 0 && out.Chains == nil {
			out.Chains = []int{-1, -1}
		}
		if at >= 0 {
			out.Chains[i] = at
		}
	}
	return out
}

// ownFirst is the maps of an entry, those with cells of their own before those
// that follow from others.
func ownFirst(e *review.Entry) []*review.EntryMap {
	out := slices.Clone(e.Maps)
	sort.SliceStable(out, func(i, j int) bool { return own(e, out[i].Diff) && !own(e, out[j].Diff) })
	return out
}

// own says whether a map has cells of its own, so that what it changes by doesn't
// follow from another map.
func own(e *review.Entry, m *diff.MapDiff) bool {
	if e.Pair.New.Program == nil {
		return true
	}
	for _, x := range e.Pair.New.Program.Check.Maps {
		if x.Name == m.Map {
			return x.Formula == nil
		}
	}
	return true
}

// hidden lists the cells, by their number in the table, that the policy hides.
func hidden(em *review.EntryMap) []int {
	if em.Hidden == 0 {
		return nil
	}
	shown := make([]bool, len(em.Diff.Cells))
	for _, i := range em.Shown {
		shown[i] = true
	}
	var out []int
	for i, c := range em.Diff.Cells {
		if !shown[i] {
			out = append(out, c.Row*len(em.Diff.Cols.Points)+c.Col)
		}
	}
	return out
}

// parts keeps what each element moved each cell by, as printed. An element that
// did the whole of every change needs no column.
func (d *data) parts(out *tuneMap, m *diff.MapDiff) {
	for _, p := range m.Parts {
		whole, any := true, false
		for i, c := range m.Cells {
			whole = whole && p.Printed[i] == c.Change
			any = any || p.Printed[i] != 0
		}
		switch {
		case !any:
		case whole:
			out.Parts = append(out.Parts, [2]int{d.element(p.Element), -1})
		default:
			cells := make([]float64, m.Total)
			for i, c := range m.Cells {
				cells[c.Row*len(m.Cols.Points)+c.Col] = p.Printed[i]
			}
			out.Parts = append(out.Parts, [2]int{d.element(p.Element), d.column("part of "+m.Map+" "+p.Element.Name, m.Decimals(), cells)})
		}
	}
}

func (d *data) element(e *diff.Element) int {
	at, ok := d.seen[e]
	if !ok {
		at = d.elements.add(element{clean(e.Name), clean(e.Place.String()), clean(e.Why)})
		d.seen[e] = at
	}
	return at
}

// once makes a thing of a program's place the first time that it is met.
func (d *data) once(thing any, make func() int) int {
	at, ok := d.made[thing]
	if !ok {
		at = make()
		d.made[thing] = at
	}
	return at
}

func (d *data) text(s string) int {
	at, ok := d.textAt[s]
	if !ok {
		at = d.texts.add(clean(s))
		d.textAt[s] = at
	}
	return at
}

func (d *data) column(kind string, decimals int, cells []float64, try ...int) int {
	return d.cols.add(kind, decimals, cells, try...)
}

func (d *data) realColumn(list []float64) int { return d.reals.add(list) }

// decimalsIn is how many decimals a resolution prints.
func decimalsIn(r grid.Res) int {
	if !r.Set() {
		return 0
	}
	return r.Decimals()
}

// JSON writes the data. Every `<`, `>` and `&`, and the two line ends that a
// script doesn't allow in a text, are written as escapes.
func (d *data) JSON() ([]byte, error) {
	return json.Marshal(map[string]any{
		"sides": d.sides, "call": d.call, "why": d.why, "cols": d.cols.views(), "reals": orEmpty(d.reals.list), "texts": d.texts.list, "axes": orEmpty(d.axes.list),
		"maps": orEmpty(d.maps.list), "elements": orEmpty(d.elements.list), "steps": orEmpty(d.steps.list), "bases": orEmpty(d.bases.list),
		"chains": orEmpty(d.chains.list), "tunes": orEmpty(d.tunes),
	})
}

func orEmpty[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

// clean makes a text of a source harmless to whoever reads it: what would be
// obeyed or hidden is spelled out.
func clean(s string) string { return strings.TrimSpace(diag.Clean(s)) }
