package hybrid

import (
	"runtime"
	"slices"
	"strings"
	"sync"

	"fettle/lang/source"
)

// settle makes the hybrids, and puts the elements in an order in which each of
// them checks.
//
// Most often the order in which they were found will do. Where it doesn't, the
// elements from the first that doesn't check to the next that does are sorted
// out: those that check by themselves come first, the others in groups, each as
// small as can be found, of elements whose texts name one another. What is left
// over is one group.
func (s *Steps) settle() {
	list := s.Elements
	states := []*state{s.start}
	for _, e := range list {
		st := states[len(states)-1].clone()
		e.apply(st)
		states = append(states, st)
	}
	found := compileAll(states)
	s.Elements, s.hybrids = nil, found[:1]
	for i := 0; i < len(list); {
		if found[i].Err == nil && found[i+1].Err == nil {
			s.accept(list[i], found[i+1])
			i++
			continue
		}
		j := i + 1
		for j < len(list) && found[j].Err != nil {
			j++
		}
		t := &tangle{steps: s, now: states[i], left: list[i:j], why: map[*Element]string{}}
		t.solve(found[j])
		i = j
	}
}

func (s *Steps) accept(e *Element, h *Hybrid) {
	s.Elements = append(s.Elements, e)
	s.hybrids = append(s.hybrids, h)
}

// compileAll compiles states on all processors.
func compileAll(states []*state) []*Hybrid {
	out := make([]*Hybrid, len(states))
	next := make(chan int)
	var wg sync.WaitGroup
	for range min(len(states), runtime.GOMAXPROCS(0)) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := range next {
				out[i] = states[i].compile()
			}
		}()
	}
	for i := range states {
		next <- i
	}
	close(next)
	wg.Wait()
	return out
}

// tangle is elements of which some don't check where they stand.
type tangle struct {
	steps *Steps
	now   *state
	left  []*Element
	why   map[*Element]string // why one doesn't check by itself
	tries int
}

// mostTries bounds the work on a tangle: more than that and it is one group.
const mostTries = 2000

// try has elements replaced next, if that checks.
func (t *tangle) try(list []*Element) (*state, *Hybrid) {
	t.tries++
	st := t.now.clone()
	for _, e := range list {
		e.apply(st)
	}
	return st, st.compile()
}

// take replaces elements that check.
func (t *tangle) take(list []*Element, st *state, h *Hybrid) {
	t.now = st
	t.left = slices.DeleteFunc(slices.Clone(t.left), func(e *Element) bool { return slices.Contains(list, e) })
	e := list[0]
	if len(list) > 1 {
		e = together(list, t.why[list[0]])
	}
	t.steps.accept(e, h)
}

// solve replaces all elements; with all of them it is the hybrid that is given.
func (t *tangle) solve(last *Hybrid) {
	for progress := true; progress && len(t.left) > 0 && t.tries < mostTries; {
		progress = t.singles()
		for _, group := range t.groups() {
			if st, h := t.try(group); h.Err == nil {
				group, st, h = t.smaller(group, st, h)
				t.take(group, st, h)
				progress = true
			}
		}
	}
	if len(t.left) > 0 {
		t.take(t.left, t.now, last)
	}
}

// singles replaces what checks by itself.
func (t *tangle) singles() (any bool) {
	for _, e := range t.left {
		st, h := t.try([]*Element{e})
		if h.Err == nil {
			t.take([]*Element{e}, st, h)
			any = true
		} else if t.why[e] == "" {
			t.why[e] = h.Err.Error()
		}
	}
	return any
}

// groups parts what is left by whose text names whose, those of several alone.
func (t *tangle) groups() (out [][]*Element) {
	group := map[*Element]int{}
	for i, e := range t.left {
		group[e] = i
	}
	words := map[*Element]map[string]bool{}
	for _, e := range t.left {
		words[e] = map[string]bool{}
		for _, text := range e.Text {
			for _, w := range wordsOf(text) {
				words[e][w] = true
			}
		}
	}
	mentions := func(a, b *Element) bool {
		return slices.ContainsFunc(b.names, func(name string) bool { return words[a][name] })
	}
	for i, a := range t.left {
		for _, b := range t.left[:i] {
			if from, to := group[a], group[b]; from != to && (mentions(a, b) || mentions(b, a)) {
				for e, g := range group {
					if g == from {
						group[e] = to
					}
				}
			}
		}
	}
	for i := range t.left {
		var list []*Element
		for _, e := range t.left {
			if group[e] == i {
				list = append(list, e)
			}
		}
		if len(list) > 1 {
			out = append(out, list)
		}
	}
	return out
}

// smaller leaves out of a group what it can do without.
func (t *tangle) smaller(group []*Element, st *state, h *Hybrid) ([]*Element, *state, *Hybrid) {
	for i := 0; i < len(group) && len(group) > 2 && t.tries < mostTries; {
		rest := slices.Delete(slices.Clone(group), i, i+1)
		if less, hh := t.try(rest); hh.Err == nil {
			group, st, h = rest, less, hh
		} else {
			i++
		}
	}
	return group, st, h
}

// together makes one element of several.
func together(list []*Element, why string) *Element {
	e := &Element{Kind: Together, Members: slices.Clone(list), Places: list[0].Places, PlaceIn: map[string][2]source.Span{}, Why: why}
	var names []string
	for _, m := range list {
		names = append(names, m.Name)
	}
	e.Name = strings.Join(names, ", ")
	e.apply = func(s *state) {
		for _, m := range e.Members {
			m.apply(s)
		}
	}
	return e
}
