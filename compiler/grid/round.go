package grid

import (
	"fmt"
	"math"
	"math/big"
	"strconv"
	"strings"
)

// Res is the resolution of printed values: a positive decimal step such as 0.01
// or 0.25, or, as the zero value, six significant digits.
//
// Rounding is half to even on a number as it is written: the shortest decimal
// that is this float. So a cell that a tuner wrote as 2.675 goes to 2.68 at 0.01
// and 2.665 to 2.66, whatever the binary value is a little beside. A Res may be
// compared with ==: equal steps are equal however they were written.
type Res struct {
	num  int64   // the step is exactly num / 10^dec; 0 for no step
	dec  int     // decimals needed to write the step, hence its multiples
	step float64 // the float nearest the step
	most float64 // under so many steps quick works, and their units are exact in a float
}

// maxResDigits bounds the digits and the decimals of a step: more than a float
// can tell apart, and few enough for an int64.
const maxResDigits = 18

// significant is the number of significant digits without a step.
const significant = 6

// NewRes reads a step: a positive decimal without a sign, such as "0.01", "0.5",
// "5" or "1e-3".
func NewRes(text string) (Res, error) {
	step, ok := ParseNumber(text)
	if !ok || text[0] == '+' || text[0] == '-' {
		return Res{}, fmt.Errorf("%q is not a resolution: write a positive number such as 0.01", text)
	}
	mantissa, exponent, _ := strings.Cut(text, "e")
	whole, frac, _ := strings.Cut(mantissa, ".")
	digits := strings.TrimLeft(whole+frac, "0")
	if digits == "" {
		return Res{}, fmt.Errorf("a resolution of 0 rounds to nothing: write a positive number such as 0.01")
	}
	outOfReach := fmt.Errorf("the resolution %s is out of reach: at most %d digits and %d decimals", text, maxResDigits, maxResDigits)
	if step == 0 {
		return Res{}, outOfReach // too small for a float
	}
	// The step is digits / 10^dec.
	dec, err := strconv.Atoi("0" + strings.TrimLeft(exponent, "+-"))
	if err != nil {
		return Res{}, outOfReach
	}
	if !strings.HasPrefix(exponent, "-") {
		dec = -dec
	}
	dec += len(frac)
	for dec > 0 && strings.HasSuffix(digits, "0") {
		digits = digits[:len(digits)-1]
		dec--
	}
	if dec > maxResDigits || len(digits)-min(dec, 0) > maxResDigits {
		return Res{}, outOfReach
	}
	for ; dec < 0; dec++ {
		digits += "0"
	}
	num, err := strconv.ParseInt(digits, 10, 64)
	if err != nil {
		return Res{}, err
	}
	return Res{num: num, dec: dec, step: step, most: min(1e9, (1<<53)/float64(num)-1)}, nil
}

// Set says whether there is a step; without one, values have six significant
// digits.
func (r Res) Set() bool { return r.num != 0 }

// Step returns the float nearest the step, 0 without one.
func (r Res) Step() float64 { return r.step }

// Decimals returns how many decimals every printed value has: those that the
// step needs (2 for 0.25, 0 for 5), 0 without a step.
func (r Res) Decimals() int { return r.dec }

// Round returns the float nearest to x rounded to the resolution, half to even.
// What isn't finite stays as it is, and zero never has a sign.
func (r Res) Round(x float64) float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return x
	}
	if n, ok := r.quick(x); ok {
		// Both are exact in a float, so the quotient is rounded once.
		return float64(n) / pow10[r.dec]
	}
	var buf [64]byte
	// A decimal beyond the largest float comes back as an infinity.
	v, _ := strconv.ParseFloat(string(r.Append(buf[:0], x)), 64)
	return v
}

// Format returns x as [Res.Append] writes it.
func (r Res) Format(x float64) string {
	var buf [32]byte
	return string(r.Append(buf[:0], x))
}

// Append appends x rounded to the resolution, half to even, in plain decimal
// notation without an exponent. With a step every value has its number of
// decimals; without one, six significant digits, and zeros at the end of the
// decimals are dropped. Zero has no sign. What isn't finite is written as
// NaN, +Inf or -Inf, which no reader here accepts.
func (r Res) Append(dst []byte, x float64) []byte {
	switch {
	case math.IsNaN(x) || math.IsInf(x, 0):
		return strconv.AppendFloat(dst, x, 'g', -1, 64)
	case !r.Set():
		return appendSignificant(dst, x)
	}
	if n, ok := r.quick(x); ok {
		return appendFixed(dst, n, r.dec)
	}
	return r.appendExact(dst, x)
}

// pow10 holds the powers of ten up to the largest number of decimals; all are
// exact.
var pow10 = [maxResDigits + 1]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9,
	1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18}

// shortest gives a finite size as digits * 10^exp, the shortest that is this
// float; the digits' last isn't 0 unless it is the only one.
func shortest(buf []byte, x float64) (digits []byte, exp int) {
	text := strconv.AppendFloat(buf, math.Abs(x), 'e', -1, 64)
	for i, c := range text {
		if c == 'e' {
			exp, _ = strconv.Atoi(string(text[i+1:])) // strconv's own
			return digits, exp - (len(digits) - 1)
		}
		if c != '.' {
			digits = append(digits, c)
		}
	}
	return digits, 0
}

// appendExact rounds a finite x as it is written, with whole numbers of any size.
func (r Res) appendExact(dst []byte, x float64) []byte {
	var buf [32]byte
	digits, exp := shortest(buf[:0], x)
	// The number of steps in it is over/under.
	over, _ := new(big.Int).SetString(string(digits), 10)
	under := big.NewInt(r.num)
	shift := new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(max(exp+r.dec, -exp-r.dec))), nil)
	if exp+r.dec >= 0 {
		over.Mul(over, shift)
	} else {
		under.Mul(under, shift)
	}
	n, rest := new(big.Int).QuoRem(over, under, new(big.Int))
	switch c := rest.Lsh(rest, 1).Cmp(under); {
	case c > 0, c == 0 && n.Bit(0) == 1:
		n.Add(n, big.NewInt(1))
	}
	return appendDecimal(dst, x < 0, n.Mul(n, big.NewInt(r.num)).Append(nil, 10), r.dec)
}

// appendSignificant appends a finite x to six significant digits.
func appendSignificant(dst []byte, x float64) []byte {
	if x == 0 {
		return append(dst, '0')
	}
	var buf [32]byte
	digits, exp := shortest(buf[:0], x)
	if n := len(digits) - significant; n > 0 {
		digits = roundDigits(digits, significant)
		exp += n
		if len(digits) > significant { // carried into another power of ten
			digits, exp = digits[:significant], exp+1
		}
	}
	for len(digits) > 1 && digits[len(digits)-1] == '0' {
		digits = digits[:len(digits)-1]
		exp++
	}
	dec := -exp
	if dec < 0 {
		digits = append(digits, strings.Repeat("0", -dec)...)
		dec = 0
	}
	return appendDecimal(dst, x < 0, digits, dec)
}

// roundDigits cuts digits to n, half to even; a carry out of the first makes one
// more.
func roundDigits(digits []byte, n int) []byte {
	rest := digits[n:]
	up := rest[0] > '5' || rest[0] == '5' && (len(rest) > 1 || (digits[n-1]-'0')%2 == 1)
	digits = digits[:n]
	for i := n - 1; up; i-- {
		if i < 0 {
			return append([]byte{'1'}, digits...)
		}
		if digits[i] != '9' {
			digits[i]++
			break
		}
		digits[i] = '0'
	}
	return digits
}

// appendDecimal appends digits / 10^dec with exactly dec decimals.
func appendDecimal(dst []byte, neg bool, digits []byte, dec int) []byte {
	if n := dec + 1 - len(digits); n > 0 {
		digits = append([]byte(strings.Repeat("0", n)), digits...)
	}
	if dec == 0 {
		return appendSigned(dst, neg, digits)
	}
	var buf [40]byte
	dot := len(digits) - dec
	text := append(buf[:0], digits[:dot]...)
	text = append(text, '.')
	text = append(text, digits[dot:]...)
	return appendSigned(dst, neg, text)
}

// appendSigned appends the text of a size, with a minus unless it is zero.
func appendSigned(dst []byte, neg bool, text []byte) []byte {
	if neg && strings.Trim(string(text), "0.") != "" {
		dst = append(dst, '-')
	}
	return append(dst, text...)
}
