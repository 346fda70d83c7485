package syntax_test

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fettle/lang/syntax"
)

// plainNumber is the form of a signed number: a dot has digits on both sides.
var plainNumber = regexp.MustCompile(`^[+-]?[0-9]+(\.[0-9]+)?([eE][+-]?[0-9]+)?$`)

// sameFloat holds a text to the standard library's reading of it.
func sameFloat(t rapid.TB, text string) {
	t.Helper()
	want, err := strconv.ParseFloat(text, 64)
	is := plainNumber.MatchString(text) && err == nil
	got, ok := syntax.Float(text)
	if ok != is || ok && math.Float64bits(got) != math.Float64bits(want) {
		t.Fatalf("%q is read as %v (%v), want %v (%v)", text, got, ok, want, is)
	}
}

func TestFloatEdges(t *testing.T) {
	for _, text := range []string{
		"0", "-0", "+0", "007", "1", "0.1", "0.30", "1.005", "-12.5", "999999999999999", "9999999999999999", "0.000000000000001", "0.0000000000000001",
		"9007199254740993", "9007199254740992.5", "123456789012345.6", "12345678901234567890123", "1e22", "1e23", "8.5e-17", "4.9e-324", "2e-324", "1e-999",
		"1.7976931348623157e308", "1.7976931348623159e308", "1e309", "2.2250738585072011e-308", "1E5", "1e+5", "1e05",
		"", "-", "+", ".", "1.", ".1", "1e", "1e+", "1.e5", "1..2", "1.2.3", "--1", "1 ", " 1", "1_000", "0x10", "0x1p4", "inf", "+Inf", "nan", "1e5.0", "1,5", "½", "١",
	} {
		sameFloat(t, text)
	}
}

func TestFloatAgreesWithStrconv(t *testing.T) {
	digits := rapid.StringMatching(`[0-9]{1,20}`)
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.SampledFrom([]string{"", "-", "+"}).Draw(t, "sign") + digits.Draw(t, "whole")
		if rapid.Bool().Draw(t, "dotted") {
			text += "." + digits.Draw(t, "fraction")
		}
		if rapid.Bool().Draw(t, "exponent") {
			text += "e" + strconv.Itoa(rapid.IntRange(-330, 320).Draw(t, "power"))
		}
		if _, ok := syntax.Float(text); !ok && !strings.Contains(text, "e") {
			t.Fatalf("%q is refused", text)
		}
		sameFloat(t, text)
	})
}

func TestFloatOfAnyFloat(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64().Draw(t, "x")
		for _, f := range []byte("gfe") {
			sameFloat(t, strconv.FormatFloat(x, f, -1, 64))
			sameFloat(t, strconv.FormatFloat(x, f, 7, 64))
		}
	})
}

func TestFloatOfAnyText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sameFloat(t, rapid.StringOfN(rapid.SampledFrom([]rune("0019.eE+-_xpinf ")), 0, 12, -1).Draw(t, "text"))
	})
}
