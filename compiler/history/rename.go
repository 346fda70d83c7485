package history

import (
	"slices"

	"fettle/compiler/diff"
)

// calledBefore finds what a tune was called in an older commit that has none of
// its name: a tune that is gone since, with the same tables. "" where there is
// none.
func (w *walk) calledBefore(new, old int, tune string) string {
	return w.twin(new, old, tune)
}

// calledNow finds what a tune of an older commit is called in a newer one that
// has none of its name.
func (w *walk) calledNow(new, old int, tune string) string {
	return w.twin(old, new, tune)
}

// twin finds, among the tunes that only the other commit has, the one with the
// same tables as a tune here. Of several it is the one whose name is most alike,
// at its ends; of those the first.
func (w *walk) twin(here, other int, tune string) string {
	a, err := w.load.get(here)
	if err != nil || a.w == nil {
		return ""
	}
	b, err := w.load.get(other)
	if err != nil || b.w == nil || mapOf(b.w.Program, w.cell.mapName) == nil {
		return ""
	}
	if a.w.Plan.Find(tune) == nil || b.w.Plan.Find(tune) != nil {
		return ""
	}
	mine := a.tune(tune)
	best, most := "", -1
	for _, t := range b.w.Plan.Tunes {
		n := alike(t.Name, tune)
		if n <= most || a.w.Plan.Find(t.Name) != nil {
			continue
		}
		if its := b.tune(t.Name); mine.side != nil && its.side != nil && sameTables(mine.side, its.side) {
			best, most = t.Name, n
		}
	}
	return best
}

// alike counts the characters that two names have in common at their ends.
func alike(a, b string) int {
	n := 0
	for n < min(len(a), len(b)) && a[n] == b[n] {
		n++
	}
	a, b = a[n:], b[n:]
	k := 0
	for k < min(len(a), len(b)) && a[len(a)-1-k] == b[len(b)-1-k] {
		k++
	}
	return n + k
}

// sameTables says whether two tunes have the same tables, as printed.
func sameTables(a, b *diff.Side) bool {
	return slices.EqualFunc(a.Tables, b.Tables, func(x, y *diff.Table) bool {
		return x.Map == y.Map && x.Unit == y.Unit && x.Rows.Name == y.Rows.Name && x.Cols.Name == y.Cols.Name &&
			slices.Equal(x.Rows.Points, y.Rows.Points) && slices.Equal(x.Cols.Points, y.Cols.Points) && slices.Equal(x.Printed(), y.Printed())
	})
}
