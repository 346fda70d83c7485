package page

import (
	"encoding/binary"
	"math"
	"math/bits"
	"slices"
	"strconv"
)

// columns keeps columns of decimal numbers, such as the cells of a table, each
// once. A column is whole numbers of its last decimal. It is told as what is left
// of it after a guess: a column alike that came before, times a scale, or else
// the number before in the same column. Most of what is left is zeros, which
// deflate to next to nothing.
type columns struct {
	list  []column
	index map[string]int
	alike map[string][]int // by what it is of: the last few
}

// column is a kept column. Reals is set instead where the numbers have too many
// digits.
type column struct {
	ints     []int64
	decimals int
	from     int // the column guessed from; -1 for the number before
	scale    float64
	reals    []float64
}

const (
	maxDecimals = 12
	maxAlike    = 10
	maxWhole    = 1 << 52
)

func newColumns() *columns { return &columns{index: map[string]int{}, alike: map[string][]int{}} }

// add keeps a column of numbers that are written with so many decimals, or with
// more where they have more, and gives its place. Columns of one kind are tried
// as guesses for each other, those in try first.
func (k *columns) add(kind string, decimals int, values []float64, try ...int) int {
	c := column{from: -1, scale: 1}
	c.ints, c.decimals, c.reals = whole(values, decimals)
	key := c.key()
	if at, ok := k.index[string(key)]; ok {
		return at
	}
	if c.reals == nil {
		best := c.costOfSteps()
		for _, at := range append(slices.Clone(try), k.alike[kind]...) {
			other := &k.list[at]
			if len(other.ints) != len(c.ints) || other.decimals != c.decimals {
				continue
			}
			if cost := c.costOfSame(other.ints, best); cost < best {
				best, c.from, c.scale = cost, at, 1
			}
			scale := fit(other.ints, c.ints)
			if cost := c.costOfScaled(other.ints, scale, best); cost < best {
				best, c.from, c.scale = cost, at, scale
			}
		}
	}
	at := len(k.list)
	k.list = append(k.list, c)
	k.index[string(key)] = at
	near := append(k.alike[kind], at)
	k.alike[kind] = near[max(0, len(near)-maxAlike):]
	return at
}

func (c *column) key() []byte {
	b := binary.AppendVarint(make([]byte, 0, 4*len(c.ints)+8*len(c.reals)+1), int64(c.decimals))
	for _, x := range c.ints {
		b = binary.AppendVarint(b, x)
	}
	for _, x := range c.reals {
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(x))
	}
	return b
}

// whole gives numbers as whole ones of their last decimal, at least of the one
// that is named; or as they are.
func whole(values []float64, least int) (ints []int64, decimals int, reals []float64) {
	// A number that so many decimals give back has no more than those.
	decimals = max(0, least)
	if ints, ok := wholeOf(values, decimals); ok {
		return ints, decimals, nil
	}
	for _, x := range values {
		if p := math.Pow10(decimals); math.Abs(x*p) > maxWhole || math.RoundToEven(x*p)/p != x {
			decimals = max(decimals, decimalsOf(x))
		}
	}
	if ints, ok := wholeOf(values, decimals); ok {
		return ints, decimals, nil
	}
	return nil, 0, values
}

// wholeOf gives numbers with so many decimals as whole ones. The script divides: it
// has to come to the same numbers.
func wholeOf(values []float64, decimals int) ([]int64, bool) {
	if decimals > maxDecimals {
		return nil, false
	}
	ints := make([]int64, len(values))
	power := math.Pow10(decimals)
	for i, x := range values {
		n := math.RoundToEven(x * power)
		if math.Abs(n) > maxWhole || n/power != x {
			return nil, false
		}
		ints[i] = int64(n)
	}
	return ints, true
}

// decimalsOf is how many decimals the shortest text of a number has.
func decimalsOf(x float64) int {
	s := strconv.FormatFloat(x, 'f', -1, 64)
	for i := range s {
		if s[i] == '.' {
			return len(s) - i - 1
		}
	}
	return 0
}

// fit is the scale that brings one column nearest to another, to five digits.
func fit(from, to []int64) float64 {
	var xy, xx float64
	for i, x := range from {
		xy += float64(float64(x) * float64(to[i]))
		xx += float64(float64(x) * float64(x))
	}
	if xx == 0 {
		return 1
	}
	s, err := strconv.ParseFloat(strconv.FormatFloat(xy/xx, 'g', 5, 64), 64)
	if err != nil || math.Abs(s) > 1000 || math.Abs(s) < 0.001 {
		return 1
	}
	return s
}

// guess is what a number is guessed to be. The script does the same.
func guess(from int64, scale float64) int64 {
	return int64(math.Floor(float64(float64(from)*scale) + 0.5))
}

// rest is what is left of one number after a guess.
func (c *column) rest(i int, from []int64, scale float64) int64 {
	switch {
	case from != nil:
		return c.ints[i] - guess(from[i], scale)
	case i > 0:
		return c.ints[i] - c.ints[i-1]
	}
	return c.ints[i]
}

// left is what is left of a column after a guess; nil guesses from the number
// before.
func (c *column) left(from []int64, scale float64) []int64 {
	out := make([]int64, len(c.ints))
	for i := range c.ints {
		out[i] = c.rest(i, from, scale)
	}
	return out
}

// A cost is about how many bits what is left takes. It is worked out until it is no
// less than a bound.

// costOfSteps is the cost of a guess from the number before.
func (c *column) costOfSteps() int {
	cost := 0
	for i := range c.ints {
		cost += bitsOf(c.rest(i, nil, 1))
	}
	return cost
}

// costOfSame is the cost of guessing that a column is the same as another.
func (c *column) costOfSame(from []int64, bound int) int {
	cost := 0
	for i, x := range from {
		if cost += bitsOf(c.ints[i] - x); cost >= bound {
			break
		}
	}
	return cost
}

// costOfScaled is the cost of guessing that a column is another times a scale; more
// than any where the script couldn't reckon with the guesses exactly.
func (c *column) costOfScaled(from []int64, scale float64, bound int) int {
	cost := 0
	for i, x := range from {
		g := guess(x, scale)
		if g > maxWhole || g < -maxWhole {
			return math.MaxInt
		}
		if cost += bitsOf(c.ints[i] - g); cost >= bound {
			break
		}
	}
	return cost
}

func bitsOf(x int64) int {
	if x == 0 {
		return 0
	}
	return 3 + bits.Len64(uint64(max(x, -x)))
}

// view is a column as the script reads it: decimals, the column guessed from,
// scale, what is left.
func (k *columns) view(c *column) any {
	if c.reals != nil {
		return map[string]any{"v": c.reals}
	}
	var from []int64
	if c.from >= 0 {
		from = k.list[c.from].ints
	}
	return []any{c.decimals, c.from, c.scale, c.left(from, c.scale)}
}

func (k *columns) views() []any {
	out := make([]any, len(k.list))
	for i := range k.list {
		out[i] = k.view(&k.list[i])
	}
	return out
}
