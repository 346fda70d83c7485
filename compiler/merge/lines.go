package merge

import (
	"fmt"
	"slices"
	"strings"
)

// byLine is the plain three-way merge of lines.
func (m *merger) byLine() doc {
	out := threeWay(m.lines[base], m.lines[ours], m.lines[theirs], func(s string) string { return s })
	line := 1
	for _, c := range out {
		if c.sides == nil {
			line += len(c.lines)
			continue
		}
		n := len(c.sides[ours])
		what := fmt.Sprintf("lines %d to %d", line, line+n-1)
		switch n {
		case 0:
			what = fmt.Sprintf("behind line %d", line-1)
		case 1:
			what = fmt.Sprintf("line %d", line)
		}
		m.conflict(what + " of ours: " + lineCount(len(c.sides[base])) + " of base, " + lineCount(len(c.sides[theirs])) + " of theirs stand against it")
		line += n
	}
	return out
}

func lineCount(n int) string {
	switch n {
	case 0:
		return "no line"
	case 1:
		return "1 line"
	}
	return fmt.Sprintf("%d lines", n)
}

// threeWay merges lines: where a run of them differs on both sides and not in
// the same way, it is in conflict. Lines are compared by norm.
func threeWay(b, o, t []string, norm func(string) string) doc {
	keys := func(lines []string) []string {
		out := make([]string, len(lines))
		for i, l := range lines {
			out[i] = norm(l)
		}
		return out
	}
	kb, ko, kt := keys(b), keys(o), keys(t)
	mo, mt := common(kb, ko), common(kb, kt)
	var out doc
	i, j, k := 0, 0, 0
	for {
		for i < len(b) && mo[i] == j && mt[i] == k {
			if o[j] == b[i] { // of lines that say the same, the one that was written anew
				out.add(t[k])
			} else {
				out.add(o[j])
			}
			i, j, k = i+1, j+1, k+1
		}
		next, nj, nk := i, len(o), len(t)
		for next < len(b) && (mo[next] < 0 || mt[next] < 0) {
			next++
		}
		if next < len(b) {
			nj, nk = mo[next], mt[next]
		}
		ro, rt, rb := ko[j:nj], kt[k:nk], kb[i:next]
		switch {
		case slices.Equal(ro, rt), slices.Equal(rt, rb):
			out.add(o[j:nj]...)
		case slices.Equal(ro, rb):
			out.add(t[k:nk]...)
		default:
			out.clash([3][]string{b[i:next], o[j:nj], t[k:nk]})
		}
		if i, j, k = next, nj, nk; i == len(b) {
			return out
		}
	}
}

// common matches the lines of two texts in order: for each of a its place in b,
// or -1.
func common(a, b []string) []int {
	out := make([]int, len(a))
	for i := range out {
		out[i] = -1
	}
	matchRun(a, b, 0, 0, out)
	return out
}

// matchRun matches a run of lines: what is alike at both ends, then lines that
// stand once in each, then, if the runs between are short enough, the longest
// common sequence.
func matchRun(a, b []string, fromA, fromB int, out []int) {
	for len(a) > 0 && len(b) > 0 && a[0] == b[0] {
		out[fromA] = fromB
		a, b, fromA, fromB = a[1:], b[1:], fromA+1, fromB+1
	}
	for len(a) > 0 && len(b) > 0 && a[len(a)-1] == b[len(b)-1] {
		out[fromA+len(a)-1] = fromB + len(b) - 1
		a, b = a[:len(a)-1], b[:len(b)-1]
	}
	if len(a) == 0 || len(b) == 0 {
		return
	}
	if anchors := unique(a, b); len(anchors) > 0 {
		i, j := 0, 0
		for _, p := range anchors {
			matchRun(a[i:p[0]], b[j:p[1]], fromA+i, fromB+j, out)
			out[fromA+p[0]] = fromB + p[1]
			i, j = p[0]+1, p[1]+1
		}
		matchRun(a[i:], b[j:], fromA+i, fromB+j, out)
		return
	}
	const most = 1 << 20 // cells of the table below
	if len(a)*len(b) <= most {
		longest(a, b, fromA, fromB, out)
	}
}

// unique gives the lines that stand once in each of two runs, the most of them
// that are in the same order.
func unique(a, b []string) [][2]int {
	count := map[string]int{}
	for _, l := range a {
		count[l]++
	}
	inB := map[string]int{}
	for j, l := range b {
		if _, again := inB[l]; again {
			inB[l] = -1
		} else {
			inB[l] = j
		}
	}
	var pairs [][2]int
	for i, l := range a {
		if j, ok := inB[l]; ok && j >= 0 && count[l] == 1 && strings.TrimSpace(l) != "" {
			pairs = append(pairs, [2]int{i, j})
		}
	}
	return ascending(pairs)
}

// ascending is the longest run of pairs whose second members ascend.
func ascending(pairs [][2]int) [][2]int {
	var tails []int // by length: the pair with the least end
	before := make([]int, len(pairs))
	for i, p := range pairs {
		n, _ := slices.BinarySearchFunc(tails, p[1], func(k, x int) int { return pairs[k][1] - x })
		before[i] = -1
		if n > 0 {
			before[i] = tails[n-1]
		}
		if n == len(tails) {
			tails = append(tails, i)
		} else {
			tails[n] = i
		}
	}
	if len(tails) == 0 {
		return nil
	}
	out := make([][2]int, len(tails))
	for i, k := len(tails)-1, tails[len(tails)-1]; i >= 0; i, k = i-1, before[k] {
		out[i] = pairs[k]
	}
	return out
}

// longest matches two runs by their longest common sequence.
func longest(a, b []string, fromA, fromB int, out []int) {
	w := len(b) + 1
	length := make([]int32, (len(a)+1)*w)
	for i := len(a) - 1; i >= 0; i-- {
		for j := len(b) - 1; j >= 0; j-- {
			if a[i] == b[j] {
				length[i*w+j] = length[(i+1)*w+j+1] + 1
			} else {
				length[i*w+j] = max(length[(i+1)*w+j], length[i*w+j+1])
			}
		}
	}
	for i, j := 0, 0; i < len(a) && j < len(b); {
		switch {
		case a[i] == b[j]:
			out[fromA+i] = fromB + j
			i, j = i+1, j+1
		case length[(i+1)*w+j] >= length[i*w+j+1]:
			i++
		default:
			j++
		}
	}
}

// remarks merges the comments and blank lines that stand above something.
// Where only blank lines differ, nothing is in conflict.
func remarks(b, o, t []string) doc {
	cb, co, ct := inked(b), inked(o), inked(t)
	var out doc
	switch {
	case slices.Equal(co, cb) && slices.Equal(ct, cb):
		if slices.Equal(o, b) {
			out.add(t...)
		} else {
			out.add(o...)
		}
	case slices.Equal(co, cb):
		out.add(t...)
	case slices.Equal(ct, cb), slices.Equal(co, ct):
		out.add(o...)
	default:
		return threeWay(b, o, t, strings.TrimSpace)
	}
	return out
}

// inked are the lines that aren't blank, without the space around them.
func inked(lines []string) []string {
	var out []string
	for _, l := range lines {
		if l = strings.TrimSpace(l); l != "" {
			out = append(out, l)
		}
	}
	return out
}
