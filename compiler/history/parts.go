package history

import (
	"math"
	"sort"

	"fettle/compiler/diff"
)

// attribute works out, beside the walk, how much a value changed by and which
// elements of the source did it.
func (w *walk) attribute(r *Row, old, new int, tune string) {
	a, err := w.load.get(old)
	if err != nil {
		w.failed = err
		return
	}
	b, err := w.load.get(new)
	if err != nil {
		w.failed = err
		return
	}
	at := w.at(old, tune).at
	w.work.Add(1)
	w.load.slots <- struct{}{}
	go func() {
		defer w.work.Done()
		defer func() { <-w.load.slots }()
		x, y := a.tune(tune).side, b.tune(tune).side
		pair := diff.At(x, y, w.cell.mapName, at)
		if len(pair.Maps) == 1 && len(pair.Maps[0].Cells) == 1 {
			diff.Between(x.Program, y.Program).Attribute(pair)
			r.explain(pair.Maps[0])
		}
	}()
}

// explain puts a change and its parts into a row.
func (r *Row) explain(m *diff.MapDiff) {
	c := m.Cells[0]
	r.Change, r.ChangeUnit = &c.Change, m.ChangeUnit
	r.text.change = m.ChangeText(c.Change)
	if c.HasShare {
		r.Share = &c.Share
		r.text.share = diff.Percent(c.Share)
	}
	for _, p := range m.Parts {
		e := p.Element
		part := Part{Kind: e.Kind, Name: e.Name, Exact: p.Exact[0], Change: p.Printed[0], Why: e.Why, text: m.AmountText(p.Printed[0])}
		if at := e.PlaceIn(m.Map); !at.IsZero() {
			part.Place = at.String()
		}
		if at := e.Places[0]; !at.IsZero() {
			part.OldPlace = at.String()
		}
		r.Parts = append(r.Parts, part)
	}
	sort.SliceStable(r.Parts, func(i, j int) bool { return math.Abs(r.Parts[i].Exact) > math.Abs(r.Parts[j].Exact) })
}
