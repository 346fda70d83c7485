package review

import "math"

// allClear says that what would be an alarm was looked for, and what the largest
// change is: that nothing sticks out is no reason not to look at it. Nil where
// nothing differs.
func (r *Review) allClear() phrase {
	if r.Counts.Differ == 0 && len(r.Entries) == 0 {
		return nil
	}
	out := say("no limit newly fails, warns or is newly near, and none was eased")
	if r.Old.built() || r.New.built() {
		out = say("limits aren't compared, since tables don't hold them")
	}
	if p := r.largest(); p != nil {
		return say("%s; the largest change is %s", out, p)
	}
	return out
}

// largest tells the largest change of all tunes, as it is shown: of a map that
// follows from no other, if any differs.
func (r *Review) largest() phrase {
	var worst *Entry
	var in *EntryMap
	at, most, weight := 0, -1.0, 0.0
	all := flows{}
	look := func(list []*Entry, roots, hidden bool) {
		for _, e := range list {
			fl := all.of(e.NewT.program())
			for _, m := range e.Maps {
				if roots && !fl.root(m.Diff.Map) {
					continue
				}
				cells := m.Shown
				if hidden {
					cells = m.every()
				}
				for _, i := range cells {
					if x, y := m.told(i), m.Diff.Weight(m.Diff.Cells[i]); x > most || x == most && y > weight {
						worst, in, at, most, weight = e, m, i, x, y
					}
				}
			}
		}
	}
	for _, roots := range []bool{true, false} {
		if in == nil {
			look(r.Entries, roots, false)
		}
	}
	for _, roots := range []bool{true, false} {
		if in == nil {
			look(r.Allowed, roots, true)
		}
	}
	if in == nil {
		return nil
	}
	c := in.Diff.Cells[at]
	out := say("%s %s at %s", in.Diff.Map, in.changeOf(c.Change, c.Share, c.HasShare), in.Diff.At(c))
	if r.Only == nil {
		out = say("%s in %s", out, worst.title())
	}
	if e := largestBy(in.Diff, at); e != nil {
		out = say("%s, by %s", out, e.Name)
	}
	return out
}

// every is all cells that differ, whether they are shown or not.
func (m *EntryMap) every() []int {
	out := make([]int, len(m.Diff.Cells))
	for i := range out {
		out[i] = i
	}
	return out
}

// told is the size of a cell's change as it is shown: its share where it has one,
// to a tenth of a per cent, else as a part of the map's largest value.
func (m *EntryMap) told(cell int) float64 {
	c := m.Diff.Cells[cell]
	if c.HasShare {
		return math.Round(1000*abs(c.Share)) / 1000
	}
	return m.Diff.Weight(c)
}
