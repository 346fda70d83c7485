package review

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"math"
	"slices"
	"strings"

	"fettle/compiler/diff"
	"fettle/compiler/limit"
	"fettle/compiler/plan"
)

// lone is what has no counterpart of its name on the other side.
type lone struct{ old, new []loneTune }

type loneTune struct {
	tune   *plan.Tune
	tables *diff.Side
	why    string
	judged *Judged // nil for tables
}

func (t *loneTune) name() string {
	if t.tune != nil {
		return t.tune.Name
	}
	return t.tables.Name
}

// side is its tables; nil where it can't be computed.
func (t *loneTune) side() *diff.Side {
	if t.judged != nil {
		return t.judged.Side
	}
	return t.tables
}

// judge computes and judges them. It returns false if it was stopped.
func (l *lone) judge(old, new *Side, opt Options) bool {
	opt.Step = nil
	return each(len(l.old)+len(l.new), opt, func(i int) {
		t, s := (*loneTune)(nil), old
		if i < len(l.old) {
			t = &l.old[i]
		} else {
			t, s = &l.new[i-len(l.old)], new
		}
		if t.tune != nil {
			t.judged = s.Judge(t.tune)
		}
	})
}

// renamed takes out the pairs that are one tune under two names: those of the same
// cells, and then, where both sides were asked for whole, those at the same
// conditions, the nearest first.
func (l *lone) renamed(old, new *Side) (jobs []job) {
	take := func(i, k int) {
		a, b := l.old[i], l.new[k]
		jobs = append(jobs, job{name: a.name() + " → " + b.name(), old: a.tune, new: b.tune, oldTables: a.tables, newTables: b.tables,
			oldJudged: a.judged, newJudged: b.judged, renamed: true})
		l.old, l.new = slices.Delete(l.old, i, i+1), slices.Delete(l.new, k, k+1)
	}
	byPrint := map[[sha256.Size]byte][]string{}
	for i := range l.old {
		if p, ok := l.old[i].print(); ok {
			byPrint[p] = append(byPrint[p], l.old[i].name())
		}
	}
	find := func(list []loneTune, name string) int {
		return slices.IndexFunc(list, func(t loneTune) bool { return t.name() == name })
	}
	for k := 0; k < len(l.new); {
		p, ok := l.new[k].print()
		names := byPrint[p]
		if !ok || len(names) == 0 {
			k++
			continue
		}
		byPrint[p] = names[1:]
		take(find(l.old, names[0]), k)
	}
	byPoint := map[string][]string{}
	shared := l.shared()
	for i := range l.old {
		if p := pointOf(l.old[i].side(), shared); p != "" && old.gone(&l.old[i], new) {
			byPoint[p] = append(byPoint[p], l.old[i].name())
		}
	}
	for k := 0; k < len(l.new); {
		p := pointOf(l.new[k].side(), shared)
		best, least := -1, 0
		if new.gone(&l.new[k], old) {
			for _, name := range byPoint[p] {
				i := find(l.old, name)
				n := 0
				for _, m := range diff.Compare(l.old[i].side(), l.new[k].side()).Maps {
					n += len(m.Cells)
				}
				if best < 0 || n < least {
					best, least = i, n
				}
			}
		}
		if best < 0 {
			k++
			continue
		}
		name := l.old[best].name()
		byPoint[p] = slices.DeleteFunc(byPoint[p], func(x string) bool { return x == name })
		take(best, k)
	}
	return jobs
}

// shared names the conditions that both sides know.
func (l *lone) shared() (out []string) {
	names := func(list []loneTune) (out []string) {
		for i := range list {
			if s := list[i].side(); s != nil {
				for _, c := range s.Conditions {
					out = append(out, c.Name)
				}
				return out
			}
		}
		return nil
	}
	other := names(l.new)
	for _, n := range names(l.old) {
		if slices.Contains(other, n) {
			out = append(out, n)
		}
	}
	return out
}

// pointOf is what a tune has for some conditions; "" where it has none of them.
func pointOf(s *diff.Side, names []string) string {
	if s == nil {
		return ""
	}
	var b strings.Builder
	for _, c := range s.Conditions {
		if slices.Contains(names, c.Name) {
			fmt.Fprintf(&b, "%q %q\n", c.Name, c.Value)
		}
	}
	return b.String()
}

// gone says whether a tune isn't on the other side at all: one that wasn't asked
// for there is no tune that came or went.
func (s *Side) gone(t *loneTune, other *Side) bool {
	if s.Program != nil && s.Program == other.Program {
		return false
	}
	return other.Plan == nil || other.Plan.Find(t.name()) == nil
}

// only lists the tunes that one side alone has.
func (l *lone) only(r *Review, old, new *Side) {
	for i := range l.old {
		t := &l.old[i]
		r.OldOnly = append(r.OldOnly, diff.Lone{Name: t.name(), Why: t.why, Conditions: conditionsOf(t, old, new)})
	}
	for i := range l.new {
		t := &l.new[i]
		why := t.why
		if j := t.judged; j != nil && j.Fails {
			why = j.whyFails()
			r.Counts.Failed[1]++
		}
		r.NewOnly = append(r.NewOnly, diff.Lone{Name: t.name(), Why: why, Conditions: conditionsOf(t, new, old)})
	}
}

// conditionsOf are those of a tune that came or went.
func conditionsOf(t *loneTune, s, other *Side) []diff.Condition {
	if side := t.side(); side != nil && s.gone(t, other) {
		return side.Conditions
	}
	return nil
}

// whyFails says in short why build doesn't write a tune.
func (j *Judged) whyFails() string {
	var out []string
	if j.Fault != "" {
		out = append(out, j.Fault)
	}
	for _, v := range j.Limits {
		if v.State == limit.Fails {
			out = append(out, "limit "+v.Limit.Name)
		}
	}
	for _, v := range j.Proofs {
		if proofBadness(v) == 2 {
			out = append(out, "the proof of limit "+v.Limit.Name)
		}
	}
	for _, c := range j.Checks {
		if !c.OK {
			out = append(out, "check "+c.Check.Title)
		}
	}
	return "fails: " + strings.Join(slices.Compact(out), ", ")
}

// print is a digest of a tune's tables as printed.
func (t *loneTune) print() (out [sha256.Size]byte, ok bool) {
	side := t.side()
	if side == nil {
		return out, false
	}
	h := sha256.New()
	number := func(x float64) {
		var b [8]byte
		binary.LittleEndian.PutUint64(b[:], math.Float64bits(x))
		h.Write(b[:])
	}
	for _, m := range side.Tables {
		fmt.Fprintf(h, "%q %q %q %q %d %d\n", m.Map, m.Unit, m.Rows.Name, m.Cols.Name, len(m.Rows.Points), len(m.Cols.Points))
		for _, list := range [][]float64{m.Rows.Points, m.Cols.Points, m.Printed()} {
			for _, x := range list {
				number(x)
			}
		}
	}
	return [sha256.Size]byte(h.Sum(nil)), true
}
