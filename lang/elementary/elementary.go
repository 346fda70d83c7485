// Package elementary has the exponential, the natural logarithm and the power,
// with the same bits on every machine.
//
// Those of package math are written in assembly for some processors, and where
// they are in Go the compiler may join a product and a sum into one instruction
// that rounds once (arm64 always, amd64 from GOAMD64=v3 on). Either changes a last
// bit. Here each product that is added to something is converted to a float64
// first, which forbids the joining, and nothing is used but +, -, *, /, the square
// root and integer operations, all of which IEEE 754 fixes to the bit.
//
// The algorithms and their coefficients are those of FreeBSD's msun (e_exp.c,
// e_log.c, e_pow.c), which are fdlibm's: an argument is reduced by powers of two to
// a short interval, on which a polynomial of a published error stands in for the
// function; the power carries its logarithm in two numbers. Two sums are more
// careful than there (onePlus, nearOne). Errors are below one unit in the last
// place, which a test measures against sums of many digits.
//
// The sources came with this notice:
//
//	Copyright (C) 1993, 2004 by Sun Microsystems, Inc. All rights reserved.
//
//	Permission to use, copy, modify, and distribute this software is freely
//	granted, provided that this notice is preserved.
//
// In go floats, out come floats. Every package may import it; it imports nothing
// of ours.
package elementary

import (
	"math"
	"strconv"
	"strings"
)

// ln 2 in two parts: a whole number of up to eleven bits times the first is exact.
const (
	ln2Hi = 6.93147180369123816490e-01
	ln2Lo = 1.90821492927058770002e-10
)

// Coefficients of r*(e^r+1)/(e^r-1) - 2 over r², for |r| up to ln 2 / 2.
const (
	p1 = 1.66666666666666657415e-01
	p2 = -2.77777777770155933842e-03
	p3 = 6.61375632143793436117e-05
	p4 = -1.65339022054652515390e-06
	p5 = 4.13813679705723846039e-08
)

// Exp is e to the power of x.
func Exp(x float64) float64 {
	const (
		log2e    = 1.44269504088896338700e+00
		most     = 7.09782712893383973096e+02
		least    = -7.45133219101941108420e+02
		nearZero = 1.0 / (1 << 28)
	)
	switch {
	case x != x:
		return x
	case x > most:
		return math.Inf(1)
	case x < least:
		return 0
	case -nearZero < x && x < nearZero:
		return 1 + x
	}
	half := 0.5
	if x < 0 {
		half = -0.5
	}
	k := int(float64(log2e*x) + half)
	hi := x - float64(float64(k)*ln2Hi)
	lo := float64(float64(k) * ln2Lo)
	r := hi - lo
	t := float64(r * r)
	c := r - even(t)
	return scale(onePlus(hi, float64(r*c)/(2-c)-lo), k)
}

// onePlus is 1 + a + b, of which b is the smallest: what the first sum loses is
// added with it.
func onePlus(a, b float64) float64 {
	sum := 1 + a
	return sum + ((a - (sum - 1)) + b)
}

// even is the polynomial of p1 to p5 in t, without a constant.
func even(t float64) float64 {
	return float64(t * (p1 + float64(t*(p2+float64(t*(p3+float64(t*(p4+float64(t*p5)))))))))
}

// scale is y times two to the power of k, rounded once.
func scale(y float64, k int) float64 {
	if k > -1020 && k < 1020 {
		return float64(y * math.Float64frombits(uint64(k+1023)<<52))
	}
	return math.Ldexp(y, k)
}

// Log is the natural logarithm of x.
func Log(x float64) float64 {
	const (
		l1 = 6.666666666666735130e-01
		l2 = 3.999999999940941908e-01
		l3 = 2.857142874366239149e-01
		l4 = 2.222219843214978396e-01
		l5 = 1.818357216161805012e-01
		l6 = 1.531383769920937332e-01
		l7 = 1.479819860511658591e-01
	)
	switch {
	case x != x || x > math.MaxFloat64:
		return x
	case x < 0:
		return math.NaN()
	case x == 0:
		return math.Inf(-1)
	}
	part, exp := math.Frexp(x)
	if part < math.Sqrt2/2 {
		part = float64(2 * part)
		exp--
	}
	f := part - 1
	k := float64(exp)
	s := f / (2 + f)
	s2 := float64(s * s)
	s4 := float64(s2 * s2)
	odd := float64(s2 * (l1 + float64(s4*(l3+float64(s4*(l5+float64(s4*l7)))))))
	even := float64(s4 * (l2 + float64(s4*(l4+float64(s4*l6)))))
	sum := odd + even
	square := float64(float64(0.5*f) * f)
	return float64(k*ln2Hi) - ((square - (float64(s*(square+sum)) + float64(k*ln2Lo))) - f)
}

// Decade is the power of ten of the first digit of x: 2 for 123, -1 for 0.5. It is
// exact, unlike a logarithm that is rounded down. Zero and what is no number have 0.
func Decade(x float64) int {
	if x == 0 || x-x != 0 {
		return 0
	}
	text := strconv.FormatFloat(x, 'e', -1, 64)
	n, _ := strconv.Atoi(text[strings.IndexByte(text, 'e')+1:]) // it is one that FormatFloat wrote
	return n
}
