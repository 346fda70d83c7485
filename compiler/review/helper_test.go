package review_test

import (
	"fmt"
	"strings"
	"testing"

	"fettle/compiler"
	"fettle/compiler/review"
	"fettle/examples"
	"fettle/lang/diag"
	"fettle/lang/source"
)

type fataler interface {
	Helper()
	Fatalf(format string, args ...any)
}

// example reads the sources and CSV files of an example.
func example(t testing.TB, name string) map[string]string {
	t.Helper()
	out, err := examples.Sources("../../examples/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// edited replaces texts in a copy of a workspace's files: file, old, new, and so
// on. Each old text stands there once.
func edited(t fataler, files map[string]string, edits ...string) map[string]string {
	t.Helper()
	out := map[string]string{}
	for n, text := range files {
		out[n] = text
	}
	for i := 0; i < len(edits); i += 3 {
		name, old, new := edits[i], edits[i+1], edits[i+2]
		if strings.Count(out[name], old) != 1 {
			t.Fatalf("%q stands %d times in %s", old, strings.Count(out[name], old), name)
		}
		out[name] = strings.Replace(out[name], old, new, 1)
	}
	return out
}

func open(t fataler, files map[string]string) *compiler.Workspace {
	t.Helper()
	w := compiler.Open(source.Memory(files))
	if w.Diags.HasErrors() {
		var b strings.Builder
		diag.Text(&b, w.Diags.Sorted(), diag.TextOptions{})
		t.Fatalf("the workspace has errors:\n%s\n%s", b.String(), files["tune.fettle"])
	}
	return w
}

// unproved is a side whose limits aren't proved over their ranges, which takes longer
// than all else: what becomes of proofs is tested by itself.
func unproved(s *review.Side) *review.Side {
	s.Prove = 0
	return s
}

// compare reviews one workspace against another.
func compare(t fataler, old, new map[string]string, opt review.Options) *review.Review {
	t.Helper()
	a, b := open(t, old), open(t, new)
	r, err := compiler.Review(a.Side(review.Origin{}, ""), b.Side(review.Origin{}, ""), opt)
	if err != nil {
		t.Fatalf("%v", err)
	}
	return r
}

// compareSome reviews the tunes of two workspaces that a pattern names.
func compareSome(t fataler, pattern string, old, new map[string]string) *review.Review {
	t.Helper()
	a, b := open(t, old), open(t, new)
	r, err := compiler.Review(a.Side(review.Origin{}, pattern), b.Side(review.Origin{}, pattern), review.Options{})
	if err != nil {
		t.Fatalf("%v", err)
	}
	return r
}

// one is a workspace of one file.
func one(text string) map[string]string { return map[string]string{"tune.fettle": text} }

// patterns reviews some tunes of a workspace against others.
func patterns(t fataler, files map[string]string, old, new string) *review.Review {
	t.Helper()
	w := open(t, files)
	r, err := compiler.Review(w.Side(review.Origin{}, old), w.Side(review.Origin{}, new), review.Options{})
	if err != nil {
		t.Fatalf("%v", err)
	}
	return r
}

// limitsText writes the limits of a review, a line each: kind, name, how many
// tunes, and the numbers of the worst.
func limitsText(list []*review.Margin) string {
	var out []string
	for _, m := range list {
		name := "limit " + m.Name
		switch {
		case m.Fault:
			name = "fault"
		case m.Check:
			name = "check " + m.Text[1] + m.Text[0]
			if m.Text[0] == m.Text[1] {
				name = "check " + m.Text[0]
			}
		}
		s := fmt.Sprintf("%s: %s in %d: %s → %s", name, m.Kind, len(m.Tunes), stateText(m.Before), stateText(m.After))
		if m.AsItWas != nil {
			s += fmt.Sprintf("; as it was %s, %d break", stateText(m.AsItWas), m.Breaks)
		}
		if m.By != "" {
			s += "; by " + m.By
		}
		out = append(out, s)
	}
	return strings.Join(out, "\n")
}

func stateText(s *review.State) string {
	switch {
	case s == nil:
		return "none"
	case s.Problem != "":
		return s.Word + " (" + s.Problem + ")"
	case s.HasMargin:
		return fmt.Sprintf("%s %.6g of %.6g (%.3g) at %s", s.Word, s.Value, s.Bound, s.Margin, strings.Join(s.AtArgs, " "))
	case s.HasValues:
		return fmt.Sprintf("%s %.6g for %.6g", s.Word, s.Value, s.Bound)
	}
	return s.Word
}

func spikesText(list []*review.Spike) string {
	var out []string
	for _, s := range list {
		x := fmt.Sprintf("%s %s: %g → %g in %d beside %.3g", s.Map, strings.Join(s.AtArgs, " "), s.Old, s.New, len(s.Tunes), s.Neighbours)
		if s.Cells > 0 {
			x = fmt.Sprintf("%d cells of %s, %s: %.3g to %.3g (%.3g to %.3g) in %d beside %.3g", s.Cells, s.Map, s.At, s.Change, s.Least, s.Share, s.LeastShare, len(s.Tunes), s.Neighbours)
		}
		if s.By != nil {
			x += " by " + s.By.Name
		}
		if len(s.Also) > 0 {
			x += ", also " + strings.Join(s.Also, " ")
		}
		out = append(out, x)
	}
	return strings.Join(out, "\n")
}
