package merge_test

import (
	"fmt"
	"strings"
	"testing"

	"fettle/compiler/merge"
)

// TestStyleIsOurs: line ends, a byte-order mark and a last line without an end
// are kept from ours, whatever theirs and the base have.
func TestStyleIsOurs(t *testing.T) {
	const mark = "\ufeff"
	dress := func(s string, how int) string {
		if how&1 != 0 {
			s = strings.ReplaceAll(s, "\n", "\r\n")
		}
		if how&2 != 0 {
			s = mark + s
		}
		if how&4 != 0 {
			s = strings.TrimRight(s, "\r\n")
		}
		return s
	}
	for _, c := range []struct{ path, b, o, t, want string }{
		{"x.fettle", "let a = 1\n\nlet b = 2\n", "let a = 3\n\nlet b = 2\n", "let a = 1\n\nlet b = 4\n", "let a = 3\n\nlet b = 4\n"},
		{"x.csv", "rpm,1,2\n,3,4\n", "rpm,1,2\n,5,4\n", "rpm,1,2\n,3,6\n", "rpm,1,2\n,5,6\n"},
		{"x.csv", "name,a\nx,1\ny,2\n", "name,a\nx,3\ny,2\n", "name,a\nx,1\ny,2\nz,4\n", "name,a\nx,3\ny,2\nz,4\n"},
		{"x.fettle", "lett a = 1\nlett b = 2\nlett c = 3\n", "lett a = 2\nlett b = 2\nlett c = 3\n", "lett a = 1\nlett b = 2\nlett c = 4\n", "lett a = 2\nlett b = 2\nlett c = 4\n"},
	} {
		for how := range 8 {
			for other := range 8 {
				r := merge.Texts(dress(c.b, other), dress(c.o, how), dress(c.t, 7-other), merge.Options{Path: c.path})
				if want := dress(c.want, how); r.Text != want || len(r.Conflicts) > 0 {
					t.Errorf("%s, %d and %d: %q, want %q", c.path, how, other, r.Text, want)
				}
			}
		}
	}
}

// TestNamedByContent: a file whose name doesn't tell is a table if it reads as
// one.
func TestNamedByContent(t *testing.T) {
	r := merge.Texts("rpm,1,2\n,3,4\n", "rpm,1,2\n,5,4\n", "rpm,1,2\n,3,6\n", merge.Options{Path: "a1b2c3"})
	if r.Text != "rpm,1,2\n,5,6\n" || r.ByLine != "" {
		t.Errorf("got %+v", r)
	}
	r = merge.Texts("let a = 1\nlet b = 1\n", "let a = 2\nlet b = 1\n", "let a = 1\nlet b = 2\n", merge.Options{})
	if r.Text != "let a = 2\nlet b = 2\n" || r.ByLine != "" {
		t.Errorf("got %+v", r)
	}
}

// TestUnreadable: what is no text of ours is merged by its lines, and why is
// said.
func TestUnreadable(t *testing.T) {
	for _, c := range []struct{ path, b, why string }{
		{"x.fettle", "lett a = 1\n", "can't be read"},
		{"x.fettle", "let a = 1 # \xff\n", "UTF-8"},
		{"x.fettle", "let a = 1 # \r bare\n", "carriage return"},
		{"x.fettle", "<<<<<<< ours\nlet a = 1\n=======\nlet a = 2\n>>>>>>> theirs\n", "conflict"},
		{"x.csv", "a;b\n1;2\n", "semicolons"},
		{"x.csv", "", "empty"},
	} {
		r := merge.Texts(c.b, c.b+"# ours\n", "# theirs\n"+c.b, merge.Options{Path: c.path})
		if !strings.Contains(r.ByLine, c.why) || !strings.Contains(r.Text, "# ours") || !strings.Contains(r.Text, "# theirs") {
			t.Errorf("%q: %+v", c.b, r)
		}
	}
}

// TestEdits: what a side changed, by name.
func TestEdits(t *testing.T) {
	const before = "axis rpm [rpm] 1..9\n\nmap m [mg] {\n  rpm | 1 2 3\n      | 4 5 6\n}\n\nrule r { m += 1 % }\n\nlet a = 1\n\nvariant v { }\n"
	for _, c := range []struct{ old, new, want string }{
		{"4 5 6", "4 5.0 6 # why", "[]"},
		{"4 5 6", "4 7 6", "[map m at rpm 2: 5 → 7]"},
		{"4 5 6", "5 6 7", "[map m 3 cells]"},
		{"1 2 3\n      | 4 5 6", "1 3\n      | 4 7", "[map m at rpm 3: 6 → 7, 1 column removed]"},
		{"1 %", "2 %", "[rule r]"},
		{"let a", "let b", "[let b (let a before)]"},
		{"let a = 1\n", "", "[let a (removed)]"},
		{"variant v { }\n", "variant v { }\nvariant w { x = 1 }\n", "[variant w (added)]"},
		{"let a = 1\n\nvariant v { }\n", "variant v { }\n\nlet a = 1\n", "[x.fettle: the order of its declarations]"},
		{"map m", "mapp m", "[x.fettle]"},
	} {
		after := strings.Replace(before, c.old, c.new, 1)
		if after == before {
			t.Fatalf("%q isn't there", c.old)
		}
		if got := fmt.Sprint(merge.Edits(before, after, merge.Options{Path: "x.fettle"})); got != c.want {
			t.Errorf("%q for %q: %s, want %s", c.new, c.old, got, c.want)
		}
	}
	if got := fmt.Sprint(merge.Edits("rpm [rpm],1,2\n,3,4\n", "rpm [rpm],1,2\n,3,5\n", merge.Options{Path: "a/x.csv"})); got != "[x.csv at rpm 2: 4 → 5]" {
		t.Errorf("got %s", got)
	}
}

// TestLargeTables: two cells of a quarter of a million.
func TestLargeTables(t *testing.T) {
	const n = 500
	var b strings.Builder
	b.WriteString(`throttle \ rpm`)
	for i := range n {
		fmt.Fprintf(&b, ",%d", i+1)
	}
	row := strings.Repeat(",1.5", n)
	for i := range n {
		fmt.Fprintf(&b, "\n%d%s", i, row)
	}
	base := b.String() + "\n"
	r := merge.Texts(base, strings.Replace(base, "\n7,1.5", "\n7,2.5", 1), strings.Replace(base, "1.5\n8,", "3.5\n8,", 1), merge.Options{Path: "x.csv"})
	if len(r.Conflicts) > 0 || strings.Count(r.Text, "2.5") != 1 || strings.Count(r.Text, "3.5") != 1 {
		t.Error("the two cells aren't both there")
	}
}
