package eval

// Cells is the grid that an expression is evaluated over: the crossings of row
// and column breakpoints. A one-axis grid has RowAxis -1 and one row.
type Cells struct {
	RowAxis, ColAxis int
	Rows, Cols       []float64
}

func (c *Cells) nrows() int {
	if c.RowAxis < 0 {
		return 1
	}
	return len(c.Rows)
}

// N is the number of cells.
func (c *Cells) N() int { return c.nrows() * len(c.Cols) }

// shape is how many values an operand has: one, one a row, one a column, or one
// a cell. The shape of a result is the union of its operands'.
type shape uint8

const (
	scalar shape = 0
	byRow  shape = 1
	byCol  shape = 2
	full   shape = 3
)

// dims is the size of a shape: rows and columns.
func (c *Cells) dims(s shape) (nr, nc int) {
	nr, nc = 1, 1
	if s&byRow != 0 {
		nr = c.nrows()
	}
	if s&byCol != 0 {
		nc = len(c.Cols)
	}
	return nr, nc
}

func (c *Cells) size(s shape) int {
	nr, nc := c.dims(s)
	return nr * nc
}

// axisShape is the shape of a value that differs along one axis.
func (c *Cells) axisShape(axis int) shape {
	if axis == c.RowAxis {
		return byRow
	}
	return byCol
}

// points are the breakpoints of an axis.
func (c *Cells) points(axis int) []float64 {
	if axis == c.RowAxis {
		return c.Rows
	}
	return c.Cols
}

// Column is an operand with the strides that walk it over the cells: a value
// for each of them, however few are stored.
type Column struct {
	v      []float64
	sr, sc int
}

// At is the value at a row and a column.
func (o Column) At(r, c int) float64 { return o.v[r*o.sr+c*o.sc] }

func (c *Cells) column(v []float64, s shape) Column {
	switch s {
	case byRow:
		return Column{v, 1, 0}
	case byCol:
		return Column{v, 0, 1}
	case full:
		return Column{v, len(c.Cols), 1}
	}
	return Column{v, 0, 0}
}

// from is a column that begins at a cell, for work on a part of the grid.
func (o Column) from(r, c int) Column {
	o.v = o.v[r*o.sr+c*o.sc:]
	return o
}

// Spread writes the values of n cells, row by row, nc to a row.
func (o Column) Spread(dst []float64, nc int) {
	if o.sc == 1 && o.sr == 0 { // one row, again and again
		for done := copy(dst, o.v[:nc]); done < len(dst); done *= 2 {
			copy(dst[done:], dst[:done])
		}
		return
	}
	for r := 0; r*nc < len(dst); r++ {
		row := dst[r*nc : (r+1)*nc]
		if o.sc == 1 {
			copy(row, o.v[r*o.sr:])
			continue
		}
		x := o.v[r*o.sr]
		for c := range row {
			row[c] = x
		}
	}
}

// stored is how many values the column holds for nr rows of nc.
func (o Column) stored(nr, nc int) int { return (nr-1)*o.sr + (nc-1)*o.sc + 1 }
