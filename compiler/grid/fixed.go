package grid

import (
	"math"
	"slices"
)

// Rounded values are whole numbers of units of their last decimal, so their text
// is that of an integer with a point in it.

// pairs holds the two digits of 0 to 99.
const pairs = "0001020304050607080910111213141516171819" +
	"2021222324252627282930313233343536373839" +
	"4041424344454647484950515253545556575859" +
	"6061626364656667686970717273747576777879" +
	"8081828384858687888990919293949596979899"

// maxFixed is the longest text of a fixed number: a sign, 19 digits, a point, a
// zero before it.
const maxFixed = 22

// appendFixed appends n / 10^dec with exactly dec decimals.
func appendFixed(dst []byte, n int64, dec int) []byte {
	var text [maxFixed]byte
	return append(dst, text[:putFixed(&text, n, dec)]...)
}

// putFixed writes n / 10^dec and gives the length of its text. The short numbers
// of most tables have their own way.
func putFixed(text *[maxFixed]byte, n int64, dec int) int {
	u, at := uint64(n), 0
	if n < 0 {
		text[0], u, at = '-', -u, 1
	}
	switch {
	case dec == 2 && u < 10000:
		at = putPair(text, at, u/100)
		u = u % 100 * 2
		text[at], text[at+1], text[at+2] = '.', pairs[u], pairs[u+1]
		return at + 3
	case dec == 1 && u < 1000:
		at = putPair(text, at, u/10)
		text[at], text[at+1] = '.', byte('0'+u%10)
		return at + 2
	case dec == 0 && u < 100:
		return putPair(text, at, u)
	}
	// From the last digit on, once it is known where that stands.
	width := 1
	for p := u / 10; p > 0; p /= 10 {
		width++
	}
	width = max(width, dec+1)
	end := at + width
	if dec > 0 {
		end++
	}
	for i := end - 1; i >= at; i-- {
		if dec > 0 && i == end-1-dec {
			text[i] = '.'
			continue
		}
		text[i] = byte('0' + u%10)
		u /= 10
	}
	return end
}

// putPair writes a number below 100 without a zero before it; without a branch,
// since nobody can foretell the lengths of a table's numbers.
func putPair(text *[maxFixed]byte, at int, u uint64) int {
	long := 0
	if u >= 10 {
		long = 1
	}
	text[at&1] = byte('0' + u/10) // at is 0, or 1 after a sign
	at += long
	text[at&3] = byte('0' + u%10)
	return at + 1
}

// appendCells appends cells, each after a comma, as [Res.Append] writes them.
func (r Res) appendCells(dst []byte, cells []float64) []byte {
	const room = 1 + maxFixed
	dst = slices.Grow(dst, room*len(cells))
	at, buf := len(dst), dst[:cap(dst)]
	for i, x := range cells {
		buf[at] = ','
		text := (*[maxFixed]byte)(buf[at+1:])
		n, ok := r.quick(x)
		switch u := uint64(n); {
		case !ok:
			dst = slices.Grow(r.Append(buf[:at+1], x), room*(len(cells)-i))
			at, buf = len(dst), dst[:cap(dst)]
		case r.dec == 2 && u < 10000: // as putFixed, but without a call for each cell
			k := putPair(text, 0, u/100)
			u = u % 100 * 2
			text[k], text[k+1], text[k+2] = '.', pairs[u], pairs[u+1]
			at += k + 4
		case r.dec == 1 && u < 1000:
			k := putPair(text, 0, u/10)
			text[k], text[k+1] = '.', byte('0'+u%10)
			at += k + 3
		default:
			at += 1 + putFixed(text, n, r.dec)
		}
	}
	return buf[:at]
}

// quick returns the rounded value as a count of units of the last decimal, where
// plain float arithmetic is certain of it. The quotient x/step carries at most
// two relative errors of 2^-53, under 3e-7 for a quotient up to 1e9; so where
// it stands farther than 1e-6 from a half it rounds as the written one does.
func (r Res) quick(x float64) (units int64, ok bool) {
	q := x / r.step
	n := math.RoundToEven(q)
	// Written so that what isn't a number is refused too, and without a step
	// none is less than 0.
	return int64(n) * r.num, math.Abs(q) < r.most && math.Abs(q-n) <= 0.5-1e-6
}
