package resample

import (
	"bytes"
	"math"
	"math/big"
	"strconv"
)

// A number counts as it is written: as the shortest decimal that is the float.
// Few digits are whole numbers of a power of ten, which are quickly computed with;
// for all others there are rational numbers.

// decimal is a finite float as it is written.
func decimal(x float64) *big.Rat {
	r, _ := new(big.Rat).SetString(strconv.FormatFloat(x, 'e', -1, 64))
	return r
}

// digits is a finite float as it is written: whole times a power of ten.
func digits(x float64) (whole int64, exp int) {
	var buf [32]byte
	text, power, _ := bytes.Cut(strconv.AppendFloat(buf[:0], x, 'e', -1, 64), []byte("e"))
	exp, _ = strconv.Atoi(string(power)) // strconv's own
	point := false
	for _, c := range text {
		switch {
		case c == '.':
			point = true
		case c != '-':
			whole = 10*whole + int64(c-'0')
			if point {
				exp--
			}
		}
	}
	if x < 0 {
		whole = -whole
	}
	return whole, exp
}

// wholes are numbers of one power of ten.
type wholes struct {
	of    [3]int64 // less than 2^61, so that two add up and one doubles
	power float64  // a float holds it exactly
	ok    bool
}

// bring makes them of up to three numbers, if they have few digits.
func bring(numbers ...float64) (w wholes) {
	var exps [3]int
	decimals := 0
	for i, x := range numbers {
		w.of[i], exps[i] = digits(x)
		if w.of[i] != 0 {
			decimals = max(decimals, -exps[i])
		}
	}
	if decimals > 22 {
		return w
	}
	w.power = math.Pow10(decimals)
	for i := range numbers {
		for n := exps[i] + decimals; n > 0 && w.of[i] != 0; n-- {
			if w.of[i] > 1<<57 || w.of[i] < -1<<57 {
				return w
			}
			w.of[i] *= 10
		}
	}
	w.ok = true
	return w
}

// Ladder gives lo, lo + by and so on, up to hi, each as decimals add up, so that
// the third of 0.1 is 0.3; and whether the last of them is hi. It is nil if there
// are more than most.
func Ladder(lo, hi, by float64, most int) (points []float64, meets bool) {
	if by <= 0 || hi < lo || (hi-lo)/by > float64(most) {
		return nil, false
	}
	next := ladder(lo, hi, by)
	for x, ok := next(); ok; x, ok = next() {
		if len(points) == most {
			return nil, false
		}
		points = append(points, x)
	}
	return points, points[len(points)-1] == hi
}

// ladder gives one after the other, as long as there are any.
func ladder(lo, hi, by float64) func() (x float64, ok bool) {
	if w := bring(lo, hi, by); w.ok && max(w.of[0], -w.of[0], w.of[1], -w.of[1]) < 1<<53 {
		at := w.of[0] - w.of[2]
		return func() (float64, bool) {
			at += w.of[2]
			return float64(at) / w.power, at <= w.of[1]
		}
	}
	at, end, step := decimal(lo), decimal(hi), decimal(by)
	at.Sub(at, step)
	return func() (float64, bool) {
		x, _ := at.Add(at, step).Float64()
		return x, at.Cmp(end) <= 0
	}
}

// Multiple says whether a value is a whole multiple of a step, as both are
// written.
func Multiple(x, step float64) bool {
	if w := bring(x, step); w.ok && w.of[1] != 0 {
		return w.of[0]%w.of[1] == 0
	}
	return new(big.Rat).Quo(decimal(x), decimal(step)).IsInt()
}

// scale is how whole numbers stand for values: value = offset + raw * step.
type scale struct {
	step, offset float64
	wholes                           // of the two
	known        map[float64]float64 // what raw numbers are worth, where that is slow
}

func scaleOf(step, offset float64) *scale {
	return &scale{step, offset, bring(step, offset), map[float64]float64{}}
}

// steps is how many steps a value is over the offset, half to even.
func (s *scale) steps(x float64) float64 {
	// The quotient carries a few relative errors of 2^-53 of the greater of the
	// two; so where it stands farther than 1e-6 from a half it rounds as the
	// written one does.
	if math.Abs(x) < 1e8*s.step && math.Abs(s.offset) < 1e8*s.step {
		q := (x - s.offset) / s.step
		if math.Abs(math.Abs(q-math.Trunc(q))-0.5) > 1e-6 {
			return math.RoundToEven(q) + 0 // zero has no sign
		}
	}
	w := bring(x, s.offset, s.step)
	if !w.ok || w.of[2] <= 0 {
		return exactSteps(x, s.step, s.offset)
	}
	over, step := w.of[0]-w.of[1], w.of[2]
	n, rest := over/step, over%step // towards zero
	switch twice := 2 * max(rest, -rest); {
	case twice > step, twice == step && n%2 != 0:
		if over < 0 {
			n--
		} else {
			n++
		}
	}
	return float64(n)
}

// exactSteps is the same with rational numbers.
func exactSteps(x, step, offset float64) float64 {
	q := new(big.Rat).Sub(decimal(x), decimal(offset))
	q.Quo(q, decimal(step))
	n, rest := new(big.Int).QuoRem(q.Num(), q.Denom(), new(big.Int)) // towards zero
	switch c := rest.Lsh(rest.Abs(rest), 1).Cmp(q.Denom()); {
	case c > 0, c == 0 && n.Bit(0) == 1:
		n.Add(n, big.NewInt(int64(q.Sign())))
	}
	f, _ := new(big.Float).SetInt(n).Float64()
	return f
}

// worth is the value of a raw number: offset + raw * step, as decimals add up.
func (s *scale) worth(raw float64) float64 {
	if s.offset == 0 && s.step == 1 {
		return raw
	}
	// A float holds the whole numbers under 2^53, so only the division rounds.
	step, offset := float64(s.of[0]), float64(s.of[1])
	if s.ok && float64(math.Abs(raw*step))+math.Abs(offset) < 1<<53 {
		return (float64(raw*step) + offset) / s.power
	}
	v, ok := s.known[raw]
	if !ok {
		v = exactWorth(raw, s.step, s.offset)
		s.known[raw] = v
	}
	return v
}

// exactWorth is the same with rational numbers.
func exactWorth(raw, step, offset float64) float64 {
	v := new(big.Rat).Mul(decimal(raw), decimal(step))
	f, _ := v.Add(v, decimal(offset)).Float64()
	return f
}
