package compiler_test

import (
	"testing"
	"testing/fstest"

	"fettle/compiler"
	"fettle/lang/diag"
)

// A rule that applies only in tunes which can't be computed isn't one that never
// applies.
func TestSurveyKnowsOfTunesThatFail(t *testing.T) {
	for _, c := range []struct {
		when string
		want bool
	}{{"wet", false}, {"not wet and g < 0", true}} {
		w := compiler.Open(fstest.MapFS{"tune.fettle": {Data: []byte(`axis x 0..9
given wet = no
given g   = 1 within -1..9
map a {
  x | 1 2
    | 3 4
}
rule r when ` + c.when + ` { a /= g - 1 }
variant bench { }
variant rain { wet = yes }
`)}})
		survey := w.NewSurvey()
		w.Run(w.Plan.Tunes, compiler.RunOptions{Survey: true}, survey.Add)
		errs := &diag.List{}
		survey.Report(errs)
		never := false
		for _, d := range errs.Sorted() {
			never = never || d.Code == "W002"
		}
		if never != c.want {
			t.Errorf("when %s: that the rule never applies is said: %v", c.when, never)
		}
	}
}
