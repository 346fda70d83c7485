package grid

import "strconv"

// screenDigits is how many digits of a number are enough to read.
const screenDigits = 9

// Screen writes a number for people: in the shortest text that reads back as it,
// or rounded to nine digits where that is longer. Steps that were converted, and
// what arithmetic leaves behind a decimal, have no end of digits.
func Screen(x float64) string {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', screenDigits, 64), 64)
	if err != nil {
		return Exact(x)
	}
	return Exact(rounded)
}

// Screen32 is Screen for a float32: the shortest text that reads back as it.
func Screen32(x float64) string {
	if x == 0 {
		return "0" // not -0
	}
	return strconv.FormatFloat(x, 'f', -1, 32)
}
