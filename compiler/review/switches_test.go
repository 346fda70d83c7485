package review_test

import (
	"testing"

	"fettle/compiler/review"
)

// A map whose formula begins somewhere: at 13.5 mg of m.
const begins = `axis y 0..9
axis x 0..9
given rail = 300 within 100..500
let least [mg] = 13.5
curve bend [mg] {
  x | 0 1 2 3 4
    | 1 1 1 1 1
}
map m [mg] to 0.01 {
  y \ x | 0 1 2 3 4
  0     | 10 11 12 13 14
  1     | 11 12 13 14 15
  2     | 12 13 14 15 16
  3     | 13 14 15 16 17
  4     | 12 13.2 14 15 16
}
map upper [mg] to 0.01 like m = if m * rail / 300 >= least then m * rail / 300 / 2 else 0 mg
map bent [mg] to 0.01 like m = m + 8 * bend(x)
rule r { m *= 1 }
variant bench { rail = 300 }
variant other { rail = 307 }
`

// What a formula alone makes stick out isn't told; what stood out in what it reads is.
func TestSwitches(t *testing.T) {
	for _, c := range []struct{ name, old, new, want string }{
		{"all of what it reads moves", "rule r { m *= 1 }", "rule r { m *= 1.03 }", ""},
		{"where it begins moves", "let least [mg] = 13.5", "let least [mg] = 13.1", ""},
		{"one cell of what it reads", "4     | 12 13.2 14 15 16", "4     | 12 13.7 14 15 16", "upper y=4 x=1: 0 → 6.85 in 1 beside 0 by base of m"},
		{"a wrong one", "4     | 12 13.2 14 15 16", "4     | 12 23.2 14 15 16", "m y=4 x=1: 13.2 → 23.2 in 2 beside 0 by base of m, also upper bent"},
		{"a wrong one beside it", "1     | 11 12 13 14 15", "1     | 11 12 3 14 15", "m y=1 x=2: 13 → 3 in 2 beside 0 by base of m, also bent"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := compare(t, one(begins), edited(t, one(begins), "tune.fettle", c.old, c.new), review.Options{})
			if len(r.Entries) == 0 {
				t.Fatal("nothing differs")
			}
			if got := spikesText(r.Spikes); got != c.want {
				t.Errorf("\n%s, want\n%s", got, c.want)
			}
		})
	}
	if r := patterns(t, one(begins), "bench", "other"); len(r.Entries) != 1 || len(r.Spikes) > 0 {
		t.Errorf("between two tunes: %d differ\n%s", len(r.Entries), spikesText(r.Spikes))
	}
}
