package prove

import (
	"math"
	"math/rand/v2"
	"testing"

	"fettle/compiler/interval"
)

// What isn't decided within a box, a form at a time: the cells at any conditions of the
// box lie in what is known of them, and the limit has no less room anywhere than is
// said. No looking around hides what a box gets wrong.
func TestUndecidedThings(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for _, text := range []string{
		"rule r { fuel += 1 mg where height / 1 m + rpm > 1500 }\nlimit l: fuel >= 0 mg",
		"rule r { fuel = 9 mg where height / 1 m + rpm > 1500 and load > 5 }\nlimit l: fuel <= 9 mg",
		"rule r when height > 100 m { fuel -= 0.5 mg }\nlimit l: fuel >= 0 mg",
		"rule r when height > 100 m { fuel /= 2 over rpm 1500.. feather 1000 }\nlimit l: fuel >= 0 mg",
		// At full weight it is the plain product, which this can't be added up to.
		"rule r { fuel *= 0.0000000001 over rpm (height / 1 m + 1000).. feather 900 }\nlimit l: fuel >= 0 mg",
		"rule r { fuel *= 0.0000000001 over rpm ..(height / 1 m + 2000) feather 900, load (height / 100 m).. }\nlimit l: fuel >= 0 mg",
		"rule r { fuel += 1 mg over rpm 1500.. feather (abs(height / 1 m)) }\nlimit l: fuel >= 0 mg",
		"limit cap: fuel <= 3 mg where height / 1 m + rpm > 1500 else clamp\nlimit l: fuel <= 6 mg",
		"limit cap: fuel <= 3 mg when height > 300 m else clamp\nlimit l: fuel <= 6 mg",
		"limit cap: 2 mg <= fuel <= 3 mg + 1 mg * (height / 1 km) else clamp\nlimit l: fuel <= 6 mg",
		"limit l: fuel <= 5 mg where rpm >= height / 1 m + 1000",
		"limit l: fuel <= 5 mg where rpm <= height / 1 m + 1000 and load > 10",
		"limit l: fuel <= 5 mg where height / 1 m + 1000 < rpm",
		// They hold in every cell, and not between.
		"limit l: abs(fuel - 4.5 mg) >= 0.4 mg",
		"limit l: 10 mg - abs(fuel - 4.5 mg) <= 9.6 mg",
		"limit l: max(fuel, 9 mg - fuel) >= 4.9 mg",
		"map other [mg] like fuel = if height > 200 m then fuel else 2 * fuel\nmap twice [mg] like fuel = other + fuel - other / 2\nlimit l: twice - other <= 5 mg",
		"map other [mg] like fuel = fuel(load, rpm + height / 1 m) * 2\nlimit l: other - fuel <= 5 mg",
		"map other [mg] like fuel = fuel * max(height / 1 km, 0.5) / min(2, 1 + abs(height / 1 km))\nlimit l: abs(other - fuel) <= 5 mg",
	} {
		x := source(t, small+text+" for height -500 m..2000 m, heat 0..30\n")
		l := x.limits[0]
		s, _ := x.session(nil, l, x.plan.Find("bench"))
		p := &proving{session: s, l: l}
		for n := range 60 {
			span := []interval.I{{Lo: -500, Hi: 2000}, {Lo: 0, Hi: 30}}
			if n > 0 {
				lo := somewhere(r, -500, 2000)
				span[0] = interval.I{Lo: lo, Hi: min(lo+1000/float64(n), 2000)}
			}
			s.base = x.p.Tune(s.mix(s.at(middle(span))), s.options(l, false))
			b, _ := s.box(span, l.total)
			if !b.need(l.need) {
				t.Fatalf("%s: it may fail in %v", text, span)
			}
			room := b.judge(l, 0)
			for range 4 {
				values := []float64{somewhere(r, span[0].Lo, span[0].Hi), somewhere(r, 0, 30)}
				holdsCells(t, b, l, values)
				sp := p.spot(values, false)
				for range 8 {
					f := sp.look(values, place2(r, l))
					if f.broken && room.holds || f.part >= 0 && f.room < room.room-1e-12 {
						t.Fatalf("%s at %v %v: the room is %v, and is taken to be %v", text, values, f.at, f.room, room.room)
					}
				}
			}
		}
	}
}

// A box in which a value may be missing somewhere isn't taken to have it.
func TestWhatMayBeMissing(t *testing.T) {
	for _, text := range []string{
		"fn f(x [m] within 0..1500) = 1 + x / 1 km\nrule r { fuel *= f(height) }",
		"rule r { fuel /= height / 1 m }",
		"rule r { fuel *= sqrt(height / 1 m) }",
		"rule r { fuel *= log(height / 1 m) }",
		"rule r { fuel *= exp(height / 1 m) }",
		"rule r { fuel *= (height / 1 m) ^ 0.5 }",
		"rule r when 1 / (height / 1 m) > 3 { fuel *= 2 }",
		"rule r { fuel += 1 mg over rpm 900..(height / 1 m) }",
		"rule r { fuel += 1 mg over rpm 900.. feather (height / 1 m) }",
	} {
		x := source(t, small+text+"\nlimit l: fuel <= 900 g for height -500 m..2000 m\n")
		l := x.limits[0]
		s, _ := x.session(nil, l, x.plan.Find("bench"))
		b, _ := s.box([]interval.I{{Lo: -500, Hi: 2000}}, l.total)
		if b.need(l.need) || b.judge(l, 0).holds || !math.IsInf(b.judge(l, 0).room, -1) {
			t.Errorf("%s is taken to have a value everywhere", text)
		}
	}
}
