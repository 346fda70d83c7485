package compiler_test

import (
	"strings"
	"testing"

	"fettle/compiler"
	"fettle/compiler/review"
)

// BenchmarkReview compares all tunes of the Tussock workshop with those of an
// edited source: a base cell, a rule and a value.
func BenchmarkReview(b *testing.B) {
	files := texts(b, "tussock")
	edited := map[string]string{}
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
