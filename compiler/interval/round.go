package interval

import "math"

// Rounding. The error of a float64 sum is a float64, found by the two-sum of
// Knuth; that of a product, and what a quotient or a root leaves, by a fused
// multiply-add, which is exact to its one rounding on every machine. Only its sign
// is used, and only where it can't have been lost to underflow.

// safe is the least size at which an error of rounding can't be lost.
const safe = 0x1p-960

// up is the next float64 above, down the one below.
func up(x float64) float64 { return moved(x, 1) }

func down(x float64) float64 { return moved(x, -1) }

// moved goes n float64s up, or down where n is negative; no further than the
// infinities, which stay where they are.
func moved(x float64, n int64) float64 {
	if x-x != 0 {
		return x
	}
	b := int64(math.Float64bits(x))
	if b < 0 {
		b = math.MinInt64 - b // -0 is 0, and so on downward
	}
	const inf = 0x7ff << 52
	if b = min(max(b+n, -inf), inf); b < 0 {
		b = math.MinInt64 - b
	}
	return math.Float64frombits(uint64(b))
}

// UpSum and the like are upper bounds of what the operation gives exactly, for
// numbers that are no infinities.
func UpSum(a, b float64) float64 { return addUp(a, b) }

// UpProduct is described with UpSum.
func UpProduct(a, b float64) float64 { return mulUp(a, b) }

func addUp(a, b float64) float64 {
	s := a + b
	v := s - a
	if e := (a - (s - v)) + (b - v); e > 0 || e != e {
		return upFrom(s, a, b)
	}
	return s
}

// upFrom is the float64 above a result that is below the exact one or that
// overflowed.
func upFrom(s, a, b float64) float64 {
	switch {
	case s-s == 0:
		return up(s)
	case math.IsInf(s, -1) && a-a == 0 && b-b == 0:
		return -math.MaxFloat64
	}
	return s
}

func addDown(a, b float64) float64 { return -addUp(-a, -b) }

func subUp(a, b float64) float64 { return addUp(a, -b) }

func mulUp(a, b float64) float64 {
	if a == 0 || b == 0 {
		return 0 // also beside an infinity, which is no member
	}
	p := float64(a * b)
	switch {
	case p-p != 0:
		return upFrom(p, a, b)
	case math.Abs(p) < safe || math.FMA(a, b, -p) > 0:
		return up(p)
	}
	return p
}

func mulDown(a, b float64) float64 { return -mulUp(-a, b) }

// divUp is a/b for b other than 0.
func divUp(a, b float64) float64 {
	switch {
	case a == 0:
		return 0
	case math.IsInf(b, 0):
		if (a > 0) == (b > 0) && a-a == 0 {
			return math.SmallestNonzeroFloat64 // of large divisors, not of an infinite one
		}
		return 0
	}
	q := a / b
	switch {
	case q-q != 0:
		return upFrom(q, a, b)
	case math.Abs(q) < safe || math.Abs(a) < safe:
		return up(q)
	}
	if left := math.FMA(q, b, -a); left != 0 && (left < 0) == (b > 0) {
		return up(q)
	}
	return q
}

func divDown(a, b float64) float64 { return -divUp(-a, b) }

func sqrtUp(x float64) float64 {
	r := math.Sqrt(x)
	switch {
	case r-r != 0 || x == 0:
		return r
	case x < safe || math.FMA(r, r, -x) < 0:
		return up(r)
	}
	return r
}

func sqrtDown(x float64) float64 {
	r := math.Sqrt(x)
	switch {
	case r-r != 0 || x == 0:
		return r
	case x < safe || math.FMA(r, r, -x) > 0:
		return down(r)
	}
	return r
}
