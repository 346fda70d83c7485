package live

import (
	"strings"

	"fettle/compiler/grid"
	"fettle/compiler/workbook"
)

var (
	plain   = workbook.Look{}
	bold    = workbook.Look{Bold: true}
	head    = workbook.Look{Head: true}
	faint   = workbook.Look{Faint: true}
	wrapped = workbook.Look{Wrap: true}
)

// sheet is a sheet that is filled from the top down.
type sheet struct {
	*workbook.Sheet
	row int // the next free one
}

func (b *builder) sheet(name string) *sheet {
	s := &sheet{b.book.Sheet(name), 1}
	s.Width(1, 26)
	return s
}

func (s *sheet) heading(title, under string) {
	s.text(title, bold)
	if under != "" {
		s.text(strings.ReplaceAll(under, "\n", " "), faint)
	}
}

// text puts a line into the first column.
func (s *sheet) text(text string, look workbook.Look) { s.cells(look, text) }

// cells puts texts beside each other.
func (s *sheet) cells(look workbook.Look, texts ...string) {
	for i, t := range texts {
		if t != "" {
			s.Text(s.row, i+1, t, look)
		}
	}
	s.row++
}

// block is a rectangle of cells on a sheet: of a map, or of one value a row, a
// column, or in all.
type block struct {
	s        *sheet
	row, col int // of its first cell
	nr, nc   int
	vals     []float64
}

func (k *block) index(r, c int) (int, int) {
	if k.nr == 1 {
		r = 0
	}
	if k.nc == 1 {
		c = 0
	}
	return r, c
}

// at gives the value of a cell; one that doesn't vary along an axis has the same
// all along it.
func (k *block) at(r, c int) float64 {
	r, c = k.index(r, c)
	return k.vals[r*k.nc+c]
}

// ref names a cell as a formula on another sheet, or this one, does.
func (k *block) ref(from *sheet, r, c int) string {
	r, c = k.index(r, c)
	row, col := grid.Exact(float64(k.row+r)), workbook.Column(k.col+c)
	if k.nr == 1 {
		row = "$" + row // it stays when the formula is copied along that axis
	}
	if k.nc == 1 {
		col = "$" + col
	}
	return on(k.s, from) + col + row
}

// all names the whole block, fixed.
func (k *block) all(from *sheet) string {
	return on(k.s, from) + fixed(k.row, k.col) + ":" + fixed(k.row+k.nr-1, k.col+k.nc-1)
}

// head names a column's breakpoint, and side a row's.
func (k *block) head(from *sheet, c int) string { return on(k.s, from) + fixed(k.row-1, k.col+c) }
func (k *block) side(from *sheet, r int) string { return on(k.s, from) + fixed(k.row+r, k.col-1) }

// heads and sides name all breakpoints of an axis.
func (k *block) heads(from *sheet) string {
	return on(k.s, from) + fixed(k.row-1, k.col) + ":" + fixed(k.row-1, k.col+k.nc-1)
}
func (k *block) sides(from *sheet) string {
	return on(k.s, from) + fixed(k.row, k.col-1) + ":" + fixed(k.row+k.nr-1, k.col-1)
}

func on(s, from *sheet) string {
	if s == from {
		return ""
	}
	return workbook.Quoted(s.Name) + "!"
}

// fixed names a cell so that it stays when a formula is copied elsewhere.
func fixed(row, col int) string {
	return "$" + workbook.Column(col) + "$" + grid.Exact(float64(row))
}

// term is a formula for one cell, with how tightly its last operation binds and
// what it comes to.
type term struct {
	text string
	bind int
	val  float64
}

// How tightly operations bind.
const (
	compares = iota + 1
	adds
	multiplies
	powers
	atom
)

// in puts parentheses around a term that binds less than its place asks.
func (t term) in(bind int) string {
	if t.bind < bind {
		return "(" + t.text + ")"
	}
	return t.text
}
