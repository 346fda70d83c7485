package review_test

import (
	"testing"

	"fettle/compiler"
	"fettle/compiler/review"
)

// BenchmarkArrange compares all tunes of the Tussock workshop where every cell of
// nearly every map moves, so that there is most to put in order.
func BenchmarkArrange(b *testing.B) {
	files := example(b, "tussock")
	edit := edited(b, files, "weather.fettle", "let dyno_temp     [degC] = 22", "let dyno_temp     [degC] = 35", "base_fuel.csv", "85,6.25,6.50", "85,6.25,65.0")
	v, w := open(b, files), open(b, edit)
	for b.Loop() {
		if _, err := compiler.Review(v.Side(review.Origin{}, ""), w.Side(review.Origin{}, ""), review.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
