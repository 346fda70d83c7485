package emit

import (
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// jsonValue draws any value that JSON has.
func jsonValue(depth int) *rapid.Generator[any] {
	scalars := []*rapid.Generator[any]{
		rapid.Just[any](nil),
		rapid.Bool().AsAny(),
		rapid.Float64Range(-1e6, 1e6).AsAny(),
		rapid.SampledFrom([]string{"", "a", `"[{,:}]\`, "a\nb\tc", "é ∆ <&>", strings.Repeat("long ", 40)}).AsAny(),
	}
	if depth == 0 {
		return rapid.OneOf(scalars...)
	}
	inner := rapid.Deferred(func() *rapid.Generator[any] { return jsonValue(depth - 1) })
	return rapid.OneOf(append(scalars,
		rapid.SliceOfN(inner, 0, 5).AsAny(),
		rapid.SliceOfN(rapid.IntRange(-99, 99), 0, 30).AsAny(),
		rapid.MapOfN(rapid.StringN(0, 5, 20), inner, 0, 5).AsAny())...)
}

func TestLayoutChangesOnlySpaces(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := jsonValue(3).Draw(t, "value")
		got, err := Encode(v)
		if err != nil {
			t.Fatal(err)
		}
		var want, have bytes.Buffer
		e := json.NewEncoder(&want)
		e.SetEscapeHTML(false)
		if err := e.Encode(v); err != nil {
			t.Fatal(err)
		}
		if err := json.Compact(&have, got); err != nil {
			t.Fatalf("%v in\n%s", err, got)
		}
		if have.String() != strings.TrimSuffix(want.String(), "\n") {
			t.Fatalf("laid out as\n%s\nof\n%s", got, want.String())
		}
	})
}

func TestLayout(t *testing.T) {
	type flat struct {
		A string `json:"a"`
		B int    `json:"b"`
	}
	v := struct {
		Numbers [][]Number        `json:"numbers"`
		Flat    []flat            `json:"flat"`
		Wide    map[string]string `json:"wide"`
		None    []flat            `json:"none"`
		Tags    string            `json:"tags"`
	}{[][]Number{{1, 2.5}, {-3}}, []flat{{"x, y", 1}}, map[string]string{"k": strings.Repeat("w", 140)}, []flat{}, "<a & b>"}
	got, err := Encode(v)
	if err != nil {
		t.Fatal(err)
	}
	want := `{
  "numbers": [[1, 2.5], [-3]],
  "flat": [
    {"a": "x, y", "b": 1}
  ],
  "wide": {
    "k": "` + strings.Repeat("w", 140) + `"
  },
  "none": [],
  "tags": "<a & b>"
}
`
	if string(got) != want {
		t.Errorf("got\n%swant\n%s", got, want)
	}
}

func TestNumbersHaveNoExponent(t *testing.T) {
	for _, c := range []struct {
		x    float64
		want string
	}{
		{0, "0"}, {math.Copysign(0, -1), "0"}, {1e-9, "0.000000001"}, {1e21, "1000000000000000000000"}, {-2.5, "-2.5"}, {0.1, "0.1"},
	} {
		got, err := Encode(Number(c.x))
		if err != nil || string(got) != c.want+"\n" {
			t.Errorf("%g: %q, %v; want %s", c.x, got, err, c.want)
		}
	}
	for _, x := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		if got, err := Encode(Number(x)); err == nil {
			t.Errorf("%g is written as %s", x, got)
		}
	}
}

// Subtracting 84.2 from 85 leaves 0.7999999999999972; what is printed is 0.8,
// and a breach that a limit can just see isn't rounded away.
func TestRoom(t *testing.T) {
	for _, c := range []struct {
		x, a, b float64
		want    Number
	}{
		{85 - 84.2, 84.2, 85, 0.8},
		{-2.2e-9 * 85, 85, 85, -0.0000002},
		{1e-17, 85, 85, 0},
		{0.5, 0, 0, 0.5},
		{3e-12, 1e-12, 4e-12, 3e-12},
		{123456789.5, 1e9, 1e9, 123456790},
	} {
		if got := room(c.x, c.a, c.b); got != c.want {
			t.Errorf("room(%g, %g, %g) = %g, want %g", c.x, c.a, c.b, got, c.want)
		}
	}
}
