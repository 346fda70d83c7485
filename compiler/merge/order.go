package merge

import "slices"

// sequence merges the order of three sequences of identities. What it gives are
// the identities that keep says yes to. ok is false where both sides moved what
// the base has, and the two orders can't both be kept.
//
// If only one side moved things, its order is taken, and what the other added
// is put behind what it stands behind there. If both did, every pair of members
// has its order from the side that changed it, and the members are put in an
// order that has all pairs so, if there is one.
func sequence(ids [3][]int, keep func(id int) bool) (out []int, ok bool) {
	oursMoved, theirsMoved := moved(ids[base], ids[ours]), moved(ids[base], ids[theirs])
	switch {
	case !theirsMoved, !moved(ids[ours], ids[theirs]):
		out = insert(ids[ours], ids[theirs], ids[base], true)
	case !oursMoved:
		out = insert(ids[theirs], ids[ours], ids[base], false)
	default:
		out, ok = pairwise(ids)
		if !ok {
			return nil, false
		}
	}
	return slices.DeleteFunc(out, func(id int) bool { return !keep(id) }), true
}

// moved says whether what two sequences have in common stands in another order.
func moved(a, b []int) bool {
	at := places(b)
	last := -1
	for _, id := range a {
		if k, ok := at[id]; ok {
			if k < last {
				return true
			}
			last = k
		}
	}
	return false
}

func places(ids []int) map[int]int {
	at := make(map[int]int, len(ids))
	for k, id := range ids {
		at[id] = k
	}
	return at
}

// insert puts into a sequence what another has besides, each behind the one that
// it stands behind there. With after, it goes behind what the sequence itself
// added at that place.
func insert(into, from, old []int, after bool) []int {
	inFrom, inOld, in := places(from), places(old), places(into)
	next := map[int][]int{} // what is put behind a member; -1 is the start
	anchor := -1
	for _, id := range from {
		if _, ok := in[id]; ok {
			anchor = id
			continue
		}
		next[anchor] = append(next[anchor], id)
	}
	var out, held []int
	put := func() {
		out = append(out, held...)
		held = nil
	}
	for k := -1; k < len(into); k++ {
		id := -1
		if k >= 0 {
			id = into[k]
			_, theirsToo := inFrom[id]
			_, older := inOld[id]
			if !after || theirsToo || older {
				put()
			}
			out = append(out, id)
		}
		held = append(held, next[id]...)
		if !after {
			put()
		}
	}
	put()
	return out
}

// pairwise orders the members of both sides by their pairs.
func pairwise(ids [3][]int) ([]int, bool) {
	const most = 400 // members, since it looks at all pairs
	all := insert(ids[ours], ids[theirs], ids[base], true)
	if len(all) > most {
		return nil, false
	}
	var at [3]map[int]int
	for s := range ids {
		at[s] = places(ids[s])
	}
	// before says whether a side has x before y: 1 yes, -1 the other way round, 0
	// it hasn't both.
	before := func(side, x, y int) int {
		i, ok := at[side][x]
		j, both := at[side][y]
		switch {
		case !ok || !both:
			return 0
		case i < j:
			return 1
		}
		return -1
	}
	comes := func(x, y int) bool {
		b, o, t := before(base, x, y), before(ours, x, y), before(theirs, x, y)
		if o == 0 || t == 0 {
			return o+t > 0
		}
		if o == b {
			return t > 0
		}
		return o > 0
	}
	var out []int
	left := all
	for len(left) > 0 {
		first := slices.IndexFunc(left, func(y int) bool {
			return !slices.ContainsFunc(left, func(x int) bool { return x != y && comes(x, y) })
		})
		if first < 0 {
			return nil, false
		}
		out = append(out, left[first])
		left = slices.Delete(slices.Clone(left), first, first+1)
	}
	return out, true
}
