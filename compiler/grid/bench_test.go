package grid

import (
	"math"
	"strconv"
	"testing"
)

// cells is a table of a usual size, of values as rules leave them.
func cells() *Table {
	t := &Table{}
	for r := range 20 {
		t.Rows = append(t.Rows, float64(r)*5.3)
	}
	for c := range 24 {
		t.Cols = append(t.Cols, 2500+500*float64(c))
	}
	for i := range 480 {
		t.Cells = append(t.Cells, 1.5+17*math.Abs(math.Sin(float64(i)*0.37)))
	}
	return t
}

func perCell(b *testing.B, cells int) {
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(cells), "ns/cell")
}

func BenchmarkAppendCSV(b *testing.B) {
	t, buf := cells(), []byte(nil)
	rows, cols := AxisHead{"throttle", "%"}, AxisHead{"rpm", "rpm"}
	for _, step := range []string{"", "0.01", "0.1", "0.25"} {
		var res Res
		if step != "" {
			res, _ = NewRes(step)
		}
		b.Run("to "+step, func(b *testing.B) {
			for b.Loop() {
				buf = AppendCSV(buf[:0], t, rows, cols, res)
			}
			perCell(b, len(t.Cells))
		})
	}
}

// BenchmarkCSVFrame is a table whose frame is there already.
func BenchmarkCSVFrame(b *testing.B) {
	t, buf := cells(), []byte(nil)
	res, _ := NewRes("0.01")
	f := NewCSVFrame(t.Rows, t.Cols, AxisHead{"throttle", "%"}, AxisHead{"rpm", "rpm"}, res)
	for b.Loop() {
		buf = f.Append(buf[:0], t.Cells)
	}
	perCell(b, len(t.Cells))
}

func BenchmarkResAppend(b *testing.B) {
	t, buf := cells(), []byte(nil)
	res, _ := NewRes("0.01")
	b.Run("res", func(b *testing.B) {
		for b.Loop() {
			buf = buf[:0]
			for _, x := range t.Cells {
				buf = res.Append(buf, x)
			}
		}
		perCell(b, len(t.Cells))
	})
	// What the library does with the same number of decimals, and as an integer.
	b.Run("strconv float", func(b *testing.B) {
		for b.Loop() {
			buf = buf[:0]
			for _, x := range t.Cells {
				buf = strconv.AppendFloat(buf, x, 'f', 2, 64)
			}
		}
		perCell(b, len(t.Cells))
	})
	b.Run("strconv int", func(b *testing.B) {
		for b.Loop() {
			buf = buf[:0]
			for _, x := range t.Cells {
				buf = strconv.AppendInt(buf, int64(x*100), 10)
			}
		}
		perCell(b, len(t.Cells))
	})
}
