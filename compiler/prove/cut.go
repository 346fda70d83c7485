package prove

import "container/heap"

// cuts is how often rectangles may be cut while a box is judged.
const cuts = 192

// cutting is a rectangle that may be cut, with its room by a part.
type cutting struct {
	rect
	part int
	partRoom
	room float64
	axis [2]float64
	nth  int
	deep int
}

// rects are in order of the least room, those that don't hold first; of those with
// none the largest.
type rects []*cutting

func (h rects) Len() int { return len(h) }
func (h rects) Less(i, j int) bool {
	a, b := h[i], h[j]
	switch {
	case a.holds != b.holds:
		return b.holds
	case a.breaks != b.breaks:
		return a.breaks
	case a.room != b.room:
		return a.room < b.room
	case a.deep != b.deep:
		return a.deep < b.deep
	}
	return a.nth < b.nth
}
func (h rects) Swap(i, j int) { h[i], h[j] = h[j], h[i] }
func (h *rects) Push(x any)   { *h = append(*h, x.(*cutting)) }
func (h *rects) Pop() any {
	old := *h
	n := old[len(old)-1]
	*h = old[:len(old)-1]
	return n
}

// cut cuts the rectangle with the least room in two, again and again, until all hold
// with the room that is sought.
func (j *judging) cut(goal float64) {
	for left := cuts; left > 0 && len(j.open) > 0; left-- {
		n := j.open[0]
		k := j.longer(n)
		if n.holds && n.room >= goal || n.breaks || k < 0 {
			break
		}
		heap.Pop(&j.open)
		mid := line{-1, float64(n.lo[k].x/2) + float64(n.hi[k].x/2)}
		for h := range 2 {
			half := &place{cells: j.l.cells, rect: n.rect}
			if h == 0 {
				half.hi[k] = mid
			} else {
				half.lo[k] = mid
			}
			half.spread()
			if j.looksAt(half) == no {
				continue
			}
			r := j.measure(n.part, half)
			heap.Push(&j.open, &cutting{rect: half.rect, part: n.part, partRoom: r, room: j.room(n.part, r), axis: j.axis, nth: 2*n.nth + h, deep: n.deep + 1})
		}
	}
	if len(j.open) > 0 {
		n := j.open[0]
		if !n.holds {
			j.out.holds = false
		}
		j.note(n.part, n.rect, n.partRoom)
	}
	for _, n := range j.open { // one that holds may have less room than one that doesn't
		if n.room < j.out.room {
			j.note(n.part, n.rect, n.partRoom)
		}
	}
}

// longer is the axis that a rectangle is cut along: one that does much to its room,
// or that it is long on as a share of its patch; -1 where it can't be cut.
func (j *judging) longer(n *cutting) int {
	best, most := -1, 0.0
	for k := range 2 {
		points := j.l.cells.Cols
		if k == 0 {
			points = j.l.cells.Rows
		}
		mid := float64(n.lo[k].x/2) + float64(n.hi[k].x/2)
		if k == 0 && j.l.cells.RowAxis < 0 || !(mid > n.lo[k].x && mid < n.hi[k].x) {
			continue
		}
		share := float64((n.hi[k].x - n.lo[k].x) / (points[len(points)-1] - points[0]) * float64(len(points)-1))
		if all := n.axis[0] + n.axis[1]; all > 0 {
			share += n.axis[k] / all
		}
		if best < 0 || share > most {
			best, most = k, share
		}
	}
	return best
}
