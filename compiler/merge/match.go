package merge

import "strings"

// entry is a member of a sequence: a declaration, a statement of a block, a row
// or column of a catalogue, a value of a list.
type entry struct {
	norm string // what it says
	key  string // what it is known by; "" where only its text tells
	kind string // only members of one kind can be edits of one another
	body string // of what has a name: what it says apart from that
}

// matching says how members are found again on a side.
type matching int

const (
	byKey  matching = iota // the key is a name: declarations, rows, columns
	byText                 // the text counts first, then the key: statements, values
)

// identify gives every member of three sequences an identity, which members
// that are versions of one another share. Those of the base come first. It
// returns how many there are.
func identify(b, o, t []entry, how matching) (ids [3][]int, n int) {
	ids[base] = make([]int, len(b))
	for i := range b {
		ids[base][i] = i
	}
	ids[ours], ids[theirs] = pair(b, o, how), pair(b, t, how)
	n = len(b)
	// What both added is one thing if it says the same or is known by one key.
	added := map[string][]int{}
	name := func(e entry) string {
		if e.key != "" {
			return "key " + e.key
		}
		return "text " + e.kind + " " + e.norm
	}
	for i, id := range ids[ours] {
		if id < 0 {
			ids[ours][i] = n
			added[name(o[i])] = append(added[name(o[i])], n)
			n++
		}
	}
	for i, id := range ids[theirs] {
		if id >= 0 {
			continue
		}
		if same := added[name(t[i])]; len(same) > 0 {
			ids[theirs][i], added[name(t[i])] = same[0], same[1:]
			continue
		}
		ids[theirs][i] = n
		n++
	}
	return ids, n
}

// pair finds the members of a base again on a side: for each of the side the
// base's place, or -1.
func pair(b, s []entry, how matching) []int {
	p := &pairing{b: b, s: s, of: make([]int, len(s)), taken: make([]bool, len(b))}
	for i := range p.of {
		p.of[i] = -1
	}
	if how == byText {
		p.alike(func(e entry) string { return e.kind + "\x00" + e.norm })
	}
	p.alike(func(e entry) string { return e.key })
	if how == byKey {
		p.renamed()
	}
	p.between()
	return p.of
}

type pairing struct {
	b, s  []entry
	of    []int
	taken []bool
}

func (p *pairing) match(i, j int) { p.of[j], p.taken[i] = i, true }

// alike pairs what is left by a text, in order where it stands several times.
func (p *pairing) alike(of func(entry) string) {
	left := map[string][]int{}
	for i, e := range p.b {
		if k := of(e); !p.taken[i] && k != "" {
			left[k] = append(left[k], i)
		}
	}
	for j, e := range p.s {
		if k := of(e); p.of[j] < 0 && k != "" && len(left[k]) > 0 {
			p.match(left[k][0], j)
			left[k] = left[k][1:]
		}
	}
}

// renamed pairs declarations that are gone with new ones of the same kind: the
// one whose body is the same, or else the one that is most like it.
func (p *pairing) renamed() {
	gone, fresh := p.rest()
	same := func(i, j int) bool { return p.b[i].kind == p.s[j].kind && p.b[i].body == p.s[j].body }
	for _, i := range gone {
		var only []int
		for _, j := range fresh {
			if same(i, j) {
				only = append(only, j)
			}
		}
		if len(only) != 1 {
			continue
		}
		twins := 0
		for _, k := range gone {
			if same(k, only[0]) {
				twins++
			}
		}
		if twins == 1 && p.of[only[0]] < 0 {
			p.match(i, only[0])
		}
	}
	const enough = 0.6
	gone, fresh = p.rest()
	if len(gone)*len(fresh) > 10_000 {
		return
	}
	for {
		best, bi, bj := enough, -1, -1
		for _, i := range gone {
			for _, j := range fresh {
				if p.taken[i] || p.of[j] >= 0 || p.b[i].kind != p.s[j].kind || p.b[i].body == p.s[j].body {
					continue // of several that are the same nobody knows which is which
				}
				if x := likeness(p.b[i].body, p.s[j].body); x > best {
					best, bi, bj = x, i, j
				}
			}
		}
		if bi < 0 {
			return
		}
		p.match(bi, bj)
	}
}

// rest gives what isn't paired and can have another name.
func (p *pairing) rest() (gone, fresh []int) {
	for i, e := range p.b {
		if !p.taken[i] && e.body != "" {
			gone = append(gone, i)
		}
	}
	for j, e := range p.s {
		if p.of[j] < 0 && e.body != "" {
			fresh = append(fresh, j)
		}
	}
	return gone, fresh
}

// likeness is the share of lines that two texts have in common.
func likeness(a, b string) float64 {
	la, lb := strings.Split(a, "\n"), strings.Split(b, "\n")
	count := map[string]int{}
	for _, l := range la {
		count[l]++
	}
	n := 0
	for _, l := range lb {
		if count[l] > 0 {
			count[l]--
			n++
		}
	}
	return float64(2*n) / float64(len(la)+len(lb))
}

// between pairs what is left and known by no name, where as many of one kind
// stand between the same neighbours on both sides: an edit, not a removal and
// an addition.
func (p *pairing) between() {
	type gap struct {
		after int // the base's member before it; -1 at the start
		kind  string
	}
	left := map[gap][]int{}
	after := -1
	for i, e := range p.b {
		if p.taken[i] {
			after = i
		} else if e.kind != "" && e.body == "" {
			left[gap{after, e.kind}] = append(left[gap{after, e.kind}], i)
		}
	}
	fresh := map[gap][]int{}
	var order []gap
	after = -1
	for j, e := range p.s {
		if p.of[j] >= 0 {
			after = p.of[j]
			continue
		}
		g := gap{after, e.kind}
		if e.body != "" {
			continue
		}
		if fresh[g] == nil {
			order = append(order, g)
		}
		fresh[g] = append(fresh[g], j)
	}
	for _, g := range order {
		if g.kind == "" || len(left[g]) != len(fresh[g]) {
			continue
		}
		for k, i := range left[g] {
			p.match(i, fresh[g][k])
		}
	}
}
