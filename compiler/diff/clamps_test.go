package diff

import (
	"strings"
	"testing"
)

// A cap that lets a part of a rule's change through is named where it does so,
// and the parts stay what is seen.
func TestClampsAtTheWorstCell(t *testing.T) {
	const source = `
axis rpm [rpm] 1000..10000
given more [deg] = 0
given cap [deg] = 30
map spark [deg] to 0.1 {
  rpm | 2000 4000
      | FIRST SECOND
}
map dwell [ms] to 0.1 like spark = 5 ms
rule keen {
  spark += more where rpm > 3000 rpm
}
limit most_spark: spark <= cap else clamp
limit least_spark: spark >= 5 deg else clamp
variant a {
  more = OLD
}
variant b {
  more = NEW
  cap = CAP
}
`
	// What the second cell is before the caps and after them, on both sides.
	for _, c := range []struct {
		what, first, second, old, new, cap string
		part                               float64 // of rule keen
		limit, in, line                    string
	}{
		{"29.5, 33 (30)", "10", "29", "0.5", "4", "30", 0.5, "most_spark", InNew, "clamped by limit most_spark in B   tune.fettle:13\n"},
		{"33 (30), 29.5", "10", "29", "4", "0.5", "30", -0.5, "most_spark", InOld, "clamped by limit most_spark in A   tune.fettle:13\n"},
		{"33 (30), 34 (31)", "10", "29", "4", "5", "31", 0, "most_spark", InBoth, "clamped by limit most_spark on both sides   tune.fettle:13\n"},
		{"1 (5), 7", "10", "1", "0", "6", "30", 2, "least_spark", InOld, "clamped by limit least_spark in A   tune.fettle:14\n"},
		{"20, 24", "10", "20", "0", "4", "30", 4, "", "", ""},
		{"28, 30 at the bound", "10", "20", "8", "10", "30", 2, "", "", ""},
		{"20, 24, and another cell is capped", "35", "20", "0", "4", "30", 4, "", "", ""},
	} {
		src := strings.NewReplacer("FIRST", c.first, "SECOND", c.second, "OLD", c.old, "NEW", c.new, "CAP", c.cap).Replace(source)
		r := workspace(t, src).diff(t, "a", "b")
		validates(t, r)
		addsUp(t, r)
		m := mapOf(t, r, "spark")
		limit, in := "", ""
		for _, x := range m.Clamps {
			limit, in = limit+x.Limit, in+x.In
		}
		if limit != c.limit || in != c.in {
			t.Errorf("%s: clamped by %q in %q, want %q in %q", c.what, limit, in, c.limit, c.in)
		}
		part := 0.0
		for _, p := range m.Parts {
			if p.Element.Name == "rule keen" {
				part = p.Printed[m.Summary.Worst]
			}
		}
		if part != c.part {
			t.Errorf("%s: the rule's part is %v, want %v", c.what, part, c.part)
		}
		if all := text(t, r, TextOptions{}); !strings.Contains(all, c.line) || (c.line == "") == strings.Contains(all, "clamped") {
			t.Errorf("%s: no line %q in\n%s", c.what, c.line, all)
		}
	}
}
