package plan_test

import (
	"testing"

	"fettle/lang/diag"
)

// FuzzWhere takes any text as a filter: it decides for every tune, or says what is
// wrong with it.
func FuzzWhere(f *testing.F) {
	for _, text := range []string{"", "altitude > 500 m", "wet and blend is race102", "blend.octane >= 98 and not cold", "altitude", "fuel > 3", "1 < ratio < 40", "(((", "ratio / 0 > 1", "\x00", "altitude > 0 m # x", "a\nb", "yes", "-altitude ^ 2 > 1 m^2"} {
		f.Add(text)
	}
	p := tunes(&testing.T{}, "variants v {\n  altitude = 0 m, 800 m\n  blend = local91, race102\n  wet = yes, no\n}\n")
	f.Fuzz(func(t *testing.T, text string) {
		errs := &diag.List{}
		filter := p.Where(text, errs)
		if (filter == nil) != errs.HasErrors() {
			t.Fatalf("%q: a filter is %v, errors are %v", text, filter != nil, errs.HasErrors())
		}
		if filter != nil {
			for _, one := range p.Tunes {
				filter(one)
			}
		}
	})
}
