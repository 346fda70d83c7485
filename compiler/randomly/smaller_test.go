package randomly_test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fettle/compiler"
	"fettle/compiler/randomly"
)

// rapid shrinks what a program is drawn from. What is left is made smaller as a text,
// where the text alone tells whether it fails.

// quiet is a tester that only notes that something failed.
type quiet struct{ said string }

type enough struct{}

func (q *quiet) Helper()                           {}
func (q *quiet) Errorf(format string, args ...any) { q.said = fmt.Sprintf(format, args...) }
func (q *quiet) Fatalf(format string, args ...any) {
	q.Errorf(format, args...)
	panic(enough{})
}

// failing says whether a source is sound and fails a property.
func failing(text string, property func(t tester, tr *trial, w *compiler.Workspace)) (fails bool) {
	w := one(text).open()
	if w.Diags.HasErrors() {
		return false
	}
	defer func() {
		if r := recover(); r != nil {
			fails = true // it may as well be a panic that is looked for
		}
	}()
	q := &quiet{}
	property(q, &trial{text: text}, w)
	return q.said != ""
}

// smaller drops declarations, lines of blocks and parts of expressions as long as the
// source still fails.
func smaller(text string, fails func(string) bool) string {
	tries := 3000
	for again := true; again; {
		again = false
		for _, cut := range cuts(text) {
			if tries--; tries < 0 {
				return text
			}
			if fails(cut) {
				text, again = cut, true
				break
			}
		}
	}
	return text
}

// cuts lists sources that are a little less, the most promising first.
func cuts(text string) (out []string) {
	lines := strings.SplitAfter(text, "\n")
	without := func(from, to int) string {
		return strings.Join(lines[:from], "") + strings.Join(lines[to:], "")
	}
	for i := len(lines) - 1; i >= 0; i-- {
		if lines[i] == "" || lines[i][0] == ' ' || lines[i][0] == '}' {
			continue
		}
		to := i + 1
		for to < len(lines) && lines[to] != "" && (lines[to][0] == ' ' || lines[to][0] == '}') {
			to++
		}
		out = append(out, without(i, to))
	}
	for i := len(lines) - 1; i >= 0; i-- {
		if strings.HasPrefix(lines[i], "  ") {
			out = append(out, without(i, i+1))
		}
		for _, clause := range []string{" where ", " over ", " when ", " else clamp", " else warn", " corrects ", " feather ", " from "} {
			if at := strings.LastIndex(lines[i], clause); at >= 0 {
				end := "\n"
				if clause == " when " && strings.HasSuffix(lines[i], " {\n") {
					end = " {\n"
				}
				out = append(out, strings.Join(lines[:i], "")+lines[i][:at]+end+strings.Join(lines[i+1:], ""))
			}
		}
	}
	// What stands in parentheses, by what stands on either side of its operator.
	for i := range len(text) {
		if text[i] != '(' {
			continue
		}
		depth, to := 0, -1
		var inner []int
		for j := i; j < len(text) && text[j] != '\n' && to < 0; j++ {
			switch text[j] {
			case '(':
				depth++
			case ')':
				if depth--; depth == 0 {
					to = j
				}
			case ' ', ',':
				if depth == 1 {
					inner = append(inner, j)
				}
			}
		}
		if to < 0 {
			continue
		}
		from := i
		for from > 0 && (text[from-1] >= 'a' && text[from-1] <= 'z' || text[from-1] >= '0' && text[from-1] <= '9' || text[from-1] == '_') {
			from--
		}
		ends := append(append([]int{i}, inner...), to)
		for k := range ends {
			for l := k + 1; l < len(ends); l++ {
				if part := strings.Trim(text[ends[k]+1:ends[l]], " ,"); part != "" && len(part) < to-from {
					out = append(out, text[:from]+part+text[to+1:])
				}
			}
		}
	}
	return out
}

func TestSmaller(t *testing.T) {
	text := "axis x0 0..9\ngiven g0 = 1\nmap m0 {\n  x0 | 1 2\n  | 3 4\n}\nrule r {\n  m0 += (1 + step(m0, x0)) over x0 2.. where x0 > 1\n  m0 *= 2\n}\nvariant bench { }\n"
	got := smaller(text, func(s string) bool {
		w := one(s).open()
		return !w.Diags.HasErrors() && strings.Contains(s, "step(m0")
	})
	want := "axis x0 0..9\nmap m0 {\n  x0 | 1 2\n  | 3 4\n}\nrule r {\n  m0 += 1 + step(m0, x0)\n}\n"
	if got != want {
		t.Errorf("it became\n%s", got)
	}
}

// A property that fails leaves a small program behind. It is tried in a process of its
// own, in a folder of its own.
func TestFailuresAreKept(t *testing.T) {
	const env = "FETTLE_KEEPS_FAILURES"
	if os.Getenv(env) != "" {
		noFeathers := func(t tester, tr *trial, w *compiler.Workspace) {
			if strings.Contains(tr.text, "feather") {
				t.Fatalf("a feather")
			}
		}
		over(t, 500, func(rt *rapid.T, tr *trial) {
			tr.again = noFeathers
			if _, w := tr.program(rt, randomly.Options{}); w != nil {
				noFeathers(rt, tr, w)
			}
		})
		return
	}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(self, "-test.run", "^TestFailuresAreKept$", "-rapid.shrinktime", "1s")
	cmd.Dir = t.TempDir()
	cmd.Env = append(os.Environ(), env+"=1", "FETTLE_KEEP=")
	if out, err := cmd.CombinedOutput(); err == nil {
		t.Fatalf("it should have failed:\n%s", out)
	}
	names, err := filepath.Glob(filepath.Join(cmd.Dir, kept, "*.fettle"))
	if err != nil || len(names) != 1 {
		t.Fatalf("%d programs were kept, %v", len(names), err)
	}
	text, err := os.ReadFile(names[0])
	if err != nil || !strings.Contains(string(text), "feather") || strings.Count(string(text), "\n") > 8 {
		t.Errorf("%v: kept was\n%s", err, text)
	}
}
