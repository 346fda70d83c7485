package limit

import (
	"math"
	"slices"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/lang/unit"
)

// Against says how what a limit asks of a tune differs from what it asked.
type Against struct {
	Known    bool     // false where the two can't be compared
	Eased    int      // cells in which a bound moved away from what it bounds
	Tighter  int      // cells in which one moved closer
	Fewer    int      // cells that only the old limit looks at
	More     int      // cells that only the new one does
	AsItWas  *Verdict // the new tune's values by the old bounds, in the cells that the old limit looks at and where the new values are known; nil where bounds read maps
	OldCells int      // that the old limit looks at, of those that both sides have
	Furthest *Moved   // the bound that moved away furthest, as a part of what it was; nil where none did
}

// Moved is a bound before and after, in the unit of the old one.
type Moved struct {
	At      []float64
	Was, Is float64
	Share   float64 // by which it moved away; infinite from 0
	Unit    unit.Unit
}

// Compare compares two verdicts of one limit, of two programs, over the same
// axes in the same units. They compare where they bound the same things in the
// same manner, by their texts, so that only the bounds are other ones.
// Whole is the new limit's verdict without its own conditions, which tells the
// values in cells that it looks at no longer; nil where that isn't known.
func Compare(old, new, whole *Verdict) Against {
	var out Against
	before, now, after := old.cells(), new.cells(), new.cells()
	if whole != nil && whole.cells() != nil {
		after = whole.cells()
	}
	if before == nil || after == nil || before.lo.conds+after.lo.conds > 0 || len(before.lo.parts) != len(after.lo.parts) {
		return out
	}
	looks := func(i int) bool { return now != nil && now.looks(i) }
	parts := after.lo.parts
	toOld := make([]unit.Conv, len(parts))
	fixed := true
	for k := range parts {
		a, b := &before.lo.parts[k], &parts[k]
		conv, err := unit.NewConv(b.unit, a.unit)
		if err != nil || a.side() != b.side() || a.about != b.about || a.fixed != b.fixed || !a.fixed && a.bound != b.bound {
			return out
		}
		toOld[k] = conv
		fixed = fixed && a.fixed
	}
	out.Known = true
	was := &Verdict{Limit: old.Limit}
	least, worstFails := math.Inf(1), false
	judged := 0
	at := sharedCells(before.lo.cells, after.lo.cells)
	for i, j := range at {
		if j < 0 {
			continue
		}
		if before.looks(j) {
			out.OldCells++
		}
		switch {
		case before.looks(j) && !looks(i):
			out.Fewer++
		case !before.looks(j) && looks(i):
			out.More++
		}
		if !before.looks(j) || !after.looks(i) {
			continue
		}
		judged++
		eased, tighter, fails := false, false, false
		for k := range parts {
			a := &before.lo.parts[k]
			if !a.fixed {
				continue
			}
			_, x, _ := before.told(k, j)
			value, y, _ := after.told(k, i)
			value, y = toOld[k].Apply(value), toOld[k].Apply(y)
			if math.Abs(y-x) > Slack*math.Max(math.Abs(x), math.Abs(y)) {
				away := 1
				if y < x {
					away = -1
				}
				switch {
				case !looks(i):
				case away == -a.side():
					tighter = true
				default:
					eased = true
					out.further(Moved{place(after.lo.cells, i), x, y, math.Abs(y-x) / math.Abs(x), a.unit})
				}
			}
			l, r := value, x
			if a.swap {
				l, r = x, value
			}
			margin, ok := compare(a.op, l, r)
			fails = fails || !ok
			room := float64(margin * a.size)
			if was.At == nil || !ok && !worstFails || ok != worstFails && room < least-float64(tie*math.Abs(least)) {
				least, worstFails = room, !ok
				was.At, was.HasMargin = place(after.lo.cells, i), true
				was.Value, was.Bound, was.Margin, was.Unit = value, x, margin, a.unit
			}
		}
		if eased {
			out.Eased++
		}
		if tighter {
			out.Tighter++
		}
		if fails {
			was.Bad++
		}
	}
	if fixed && was.At != nil {
		was.Cells = judged
		if was.Bad > 0 {
			was.State = map[check.Mode]State{check.Fail: Fails, check.Warn: Warns, check.Clamp: Clamped}[old.Limit.Mode]
		}
		out.AsItWas = was
	}
	return out
}

// further keeps the bound that moved furthest, the first of those as far.
func (a *Against) further(m Moved) {
	if a.Furthest == nil || m.Share > a.Furthest.Share*(1+tie) {
		a.Furthest = &m
	}
}

// sharedCells gives, for each of the new cells, the old one at the same place, or
// -1.
func sharedCells(old, new *eval.Cells) []int {
	cols, rows := placesIn(old.Cols, new.Cols), []int{0}
	if new.RowAxis >= 0 {
		rows = placesIn(old.Rows, new.Rows)
	}
	out := make([]int, 0, len(rows)*len(cols))
	for _, r := range rows {
		for _, c := range cols {
			if r < 0 || c < 0 {
				out = append(out, -1)
			} else {
				out = append(out, r*len(old.Cols)+c)
			}
		}
	}
	return out
}

func placesIn(old, new []float64) []int {
	out := make([]int, len(new))
	for i, x := range new {
		j, ok := slices.BinarySearch(old, x)
		if !ok {
			j = -1
		}
		out[i] = j
	}
	return out
}
