package compiler_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"fettle/compiler"
	"fettle/compiler/diff"
	"fettle/compiler/eval"
	"fettle/compiler/review"
)

// tussockEdited is the Tussock workshop and an edited source of it, of which every
// tune differs: a base cell and two rules.
func tussockEdited(b *testing.B) (files, edited map[string]string) {
	files, edited = texts(b, "tussock"), map[string]string{}
	for name, text := range files {
		edited[name] = text
	}
	for _, e := range [][3]string{
		{"pipes.fettle", "fuel  += 2.5 % over the_hit", "fuel  += 3.5 % over the_hit"},
		{"pipes.fettle", "fuel  -= 5 %", "fuel  -= 4 %"},
		{"base_fuel.csv", "1.90,1.75,1.70", "1.90,1.85,1.70"},
	} {
		edited[e[0]] = strings.Replace(edited[e[0]], e[1], e[2], 1)
	}
	if open(edited).Diags.HasErrors() {
		b.Fatal("the edit doesn't compile")
	}
	return files, edited
}

// BenchmarkAttribution tells what attributing the changes of a tune takes, as a
// multiple of what computing it takes.
func BenchmarkAttribution(b *testing.B) {
	files, edited := tussockEdited(b)
	w, v := open(files), open(edited)
	between := diff.Between(w.Eval(), v.Eval())
	var sides [2][]*diff.Side
	for i, x := range []*compiler.Workspace{w, v} {
		for _, t := range x.Plan.Tunes {
			s, err := diff.FromTune(x.Eval(), t)
			if err != nil {
				b.Fatal(err)
			}
			sides[i] = append(sides[i], s)
		}
	}
	var attributing, computing time.Duration
	parts := 0
	for b.Loop() {
		parts = 0
		for i, old := range sides[0] {
			p := diff.Compare(old, sides[1][i])
			from := time.Now()
			between.Attribute(p)
			attributing += time.Since(from)
			from = time.Now()
			v.Eval().Tune(eval.Pure(v.Program, v.Plan.Tunes[i]), eval.Options{})
			computing += time.Since(from)
			for _, m := range p.Maps {
				parts += len(m.Parts)
			}
		}
	}
	b.ReportMetric(float64(parts), "parts")
	b.ReportMetric(float64(attributing)/float64(computing), "attribution/evaluation")
}

// BenchmarkReview compares all tunes of the Tussock workshop with those of an
// edited source.
func BenchmarkReview(b *testing.B) {
	files, edited := tussockEdited(b)
	differ := 0
	for b.Loop() {
		w, v := open(files), open(edited)
		r, err := compiler.Review(w.Side(review.Origin{}, ""), v.Side(review.Origin{}, ""), review.Options{})
		if err != nil {
			b.Fatal(err)
		}
		differ = r.Counts.Differ
	}
	b.ReportMetric(float64(differ), "tunes")
}

// BenchmarkManyChanges compares 20 of them where 200 rules were changed, half of
// which apply to none.
func BenchmarkManyChanges(b *testing.B) {
	rules := func(amount string) string {
		var out strings.Builder
		for i := range 200 {
			when := ""
			if i%2 == 1 {
				when = " when air_temp > 45 and wet"
			}
			fmt.Fprintf(&out, "\nrule many_%d%s {\n  fuel *= 1 + %s * altitude / %d m over rpm %d..%d feather 500\n}\n", i, when, amount, 100000+i, 2000+20*i, 3000+40*i)
		}
		return out.String()
	}
	files, edited := texts(b, "tussock"), texts(b, "tussock")
	files["weather.fettle"] += rules("0.01")
	edited["weather.fettle"] += rules("0.02")
	w, v := open(files), open(edited)
	if w.Diags.HasErrors() || v.Diags.HasErrors() {
		b.Fatal("it doesn't compile")
	}
	parts := 0
	for b.Loop() {
		r, err := compiler.Review(w.Side(review.Origin{}, "season/long-club-*"), v.Side(review.Origin{}, "season/long-club-*"), review.Options{})
		if err != nil {
			b.Fatal(err)
		}
		parts = 0
		for _, e := range r.Entries {
			for _, m := range e.Pair.Maps {
				parts += len(m.Parts)
			}
		}
	}
	b.ReportMetric(float64(parts), "parts")
}
