package review_test

import (
	"strings"
	"testing"

	"fettle/compiler"
	"fettle/compiler/diff"
	"fettle/compiler/plan"
	"fettle/compiler/prove"
	"fettle/compiler/review"
)

const ranged = "limit l: m <= most for g 0..5"

// provedSide makes a side whose tunes have a proof of their first limit.
func provedSide(t *testing.T, text string, made func(tune string) *prove.Verdict) *review.Side {
	w := open(t, one(text))
	s := w.Side(review.Origin{Digest: text}, "")
	judge := s.Judge
	s.Prove = 0 // by the workspace itself nothing
	s.Judge = func(tune *plan.Tune) *review.Judged {
		j := judge(tune)
		if p := made(tune.Name); p != nil {
			p.Limit = w.Program.Limits[0]
			p.Unit = w.Program.Maps[0].Unit
			j.Proofs = []*prove.Verdict{p}
			j.Fails = j.Fails || p.State == prove.Refuted
		}
		return j
	}
	return s
}

func TestProofs(t *testing.T) {
	proved := func(room float64) *prove.Verdict {
		return &prove.Verdict{State: prove.Proved, HasMargin: true, Margin: room}
	}
	undecided := &prove.Verdict{State: prove.Undecided, HasMargin: true, Margin: -0.25}
	refuted := func(by float64) *prove.Verdict {
		return &prove.Verdict{State: prove.Refuted, HasMargin: true, Margin: -by, Value: 20 + by, Bound: 20, Conditions: []prove.Condition{{Given: 0, Value: 4.5}}, At: []float64{5.5}}
	}
	blind := &prove.Verdict{State: prove.Undecided, Problem: "a look-up of itself"}
	for _, c := range []struct {
		name     string
		old, new *prove.Verdict
		want     string // kinds
		text     string // a part of what a terminal shows
		differs  bool
	}{
		{"the same", proved(2), proved(2), "", "a refactoring", false},
		{"less room", proved(2), proved(1.5), "closer", "closer   the proof of limit l   +2.0 → +1.5 mg", false},
		{"hardly any room", proved(2), proved(0.1), "newly near", "NEAR     the proof of limit l is newly near in 2 tunes, worst bench", false},
		{"more room", proved(2), proved(3), "farther", "farther   the proof of limit l   +2 → +3 mg", false},
		{"lost", proved(2), undecided, "no longer proved", "UNPROVED   limit l is no longer proved in 2 tunes, worst bench; only that the bound is passed by no more than 0.25 mg", true},
		{"lost for a reason", proved(2), blind, "no longer proved", "nothing could be shown of how far it may be passed; a look-up of itself", true},
		{"refuted", proved(2), refuted(1), "newly fails", "FAILS    the proof of limit l newly fails in 2 tunes, worst bench; 21 mg at g 4.5, x 5.5, past its bound of 20 mg; margin +2 → -1 mg", true},
		{"refuted from undecided", undecided, refuted(1), "newly fails", "past its bound of 20 mg", true},
		{"refuted by more", refuted(1), refuted(3), "worse", "the proof of limit l is worse", false},
		{"found", undecided, proved(1), "recovered", "recovered   the proof of limit l", false},
		{"proved for the first time", nil, proved(1), "new", "new   the proof of limit l", false},
		{"undecided from the first", nil, undecided, "newly warns", "the proof of limit l newly warns", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			give := func(p *prove.Verdict) func(string) *prove.Verdict {
				return func(string) *prove.Verdict {
					if p == nil {
						return nil
					}
					one := *p
					return &one
				}
			}
			text := strings.Replace(small, "limit l: m <= most", ranged, 1)
			r, err := compiler.Review(provedSide(t, text, give(c.old)), provedSide(t, text+"# another text\n", give(c.new)), review.Options{})
			if err != nil {
				t.Fatal(err)
			}
			var got []string
			for _, m := range r.Limits {
				if got = append(got, m.Kind); !m.Proof || m.Name != "l" || len(m.Tunes) != 2 {
					t.Errorf("%+v", m)
				}
			}
			if strings.Join(got, ", ") != c.want || r.Differs() != c.differs {
				t.Errorf("%q, differs %v", got, r.Differs())
			}
			var b strings.Builder
			if err := r.Text(&b, review.TextOptions{TextOptions: diff.TextOptions{Width: 200}}); err != nil {
				t.Fatal(err)
			}
			if flat := strings.Join(strings.Fields(b.String()), " "); !strings.Contains(flat, strings.Join(strings.Fields(c.text), " ")) {
				t.Errorf("%q isn't in\n%s", c.text, b.String())
			}
			if j, err := r.JSON(); err != nil || (len(got) > 0) != strings.Contains(string(j), `"kind": "proof"`) {
				t.Errorf("%v\n%s", err, j)
			}
			var md strings.Builder
			if err := r.Markdown(&md, review.MarkdownOptions{}); err != nil || len(got) > 0 && !strings.Contains(md.String(), "limit `l`") {
				t.Errorf("%v\n%s", err, md.String())
			}
		})
	}
}

// A proof that is lost stands before all limits, whatever became of them.
func TestLostProofsComeFirst(t *testing.T) {
	text := strings.Replace(small, "limit l: m <= most", ranged+"\nlimit c: m <= 15.2 mg", 1)
	make := func(s prove.State) func(string) *prove.Verdict {
		return func(string) *prove.Verdict { return &prove.Verdict{State: s, HasMargin: true, Margin: 1} }
	}
	r, err := compiler.Review(provedSide(t, text, make(prove.Proved)), provedSide(t, strings.Replace(text, "14 15", "14 17", 1), make(prove.Undecided)), review.Options{})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, m := range r.Limits {
		got = append(got, m.Name+" "+m.Kind)
	}
	if want := "l no longer proved, c newly fails, l closer"; strings.Join(got, ", ") != want {
		t.Errorf("%q, want %s", got, want)
	}
}

// What a limit is proved over is a part of what it asks.
func TestRangesOfLimits(t *testing.T) {
	for _, c := range []struct{ old, new, want string }{
		{"for g 0..5", "for g 0..5", ""},
		{"for g 0..5", "for g 0 .. 5", ""},
		{"for g 0..5", "for g 0..4", "loosened"},
		{"for g 0..5", "for g 1..6", "loosened"},
		{"for g 0..5", "for g -1..6", "tightened"},
		{"for g 0..5", "", "loosened"},
		{"", "for g 0..5", "tightened"},
		{"for g 0..5", "for g 0..5, h 0..1", "tightened"},
		{"for g 0..5, h 0..1", "for h 0..1", "loosened"},
		{"for g 0..5, h 0..1", "for h 0..1, g 0..5", "reworded"},
		{"for g 0..top", "for g 0..top", "loosened"}, // by the value, 5 and then 4
	} {
		text := func(f, top string) string {
			return strings.Replace(small, "limit l: m <= most", "given h = 0\nlet top = "+top+"\nlimit l: m <= most + (g + h) * 0 mg "+f, 1)
		}
		top := "5"
		if strings.Contains(c.new, "top") {
			top = "4"
		}
		a, b := open(t, one(text(c.old, "5"))), open(t, one(text(c.new, top)))
		x, y := a.Side(review.Origin{}, ""), b.Side(review.Origin{}, "")
		x.Prove, y.Prove = 0, 0
		r, err := compiler.Review(x, y, review.Options{})
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, m := range r.Limits {
			got = append(got, m.Kind)
		}
		if strings.Join(got, ", ") != c.want {
			t.Errorf("%q → %q: %q, want %q\n%s", c.old, c.new, got, c.want, limitsText(r.Limits))
		}
	}
}
