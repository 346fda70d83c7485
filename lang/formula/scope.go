package formula

import (
	"fettle/lang/source"
	"fettle/lang/unit"
)

// SymKind is what a name stands for.
type SymKind uint8

// What names stand for. Other covers rules, limits, variants, regions: names
// that have no value; Symbol.What says which.
const (
	SymAxis SymKind = iota
	SymGiven
	SymChoice // a given that is a row of a catalogue
	SymSwitch // a given that is yes or no
	SymLet
	SymFn
	SymCatalog
	SymMap
	SymModule
	SymBroken // declared, but its declaration has errors that are reported there
	SymOther
)

// Symbol is a resolved name.
type Symbol struct {
	Kind    SymKind
	Index   int
	Unit    unit.Unit // of an axis, given or map; of a let declared with one
	Node    *Node     // a let's value
	United  bool      // the let was declared with a unit
	Catalog *Catalog
	Fn      *Fn
	Axes    []int // a map's axes, rows first
	Module  Scope // a module's own names
	What    string
	Span    source.Span
}

// Scope resolves names. Find may check a let or a function on demand.
type Scope interface {
	Find(name string) (Symbol, bool)
	Names() []string
	AxisName(i int) string
	AxisUnit(i int) unit.Unit
}

// ColKind is what a catalogue's column holds.
type ColKind uint8

// The kinds of column.
const (
	NumberCol ColKind = iota
	YesNoCol
	TextCol
)

// Column is one column of a catalogue.
type Column struct {
	Name string
	Kind ColKind
	Unit unit.Unit
	Span source.Span
}

// Catalog is a table of named rows, as expressions see it.
type Catalog struct {
	Name   string
	Cols   []Column // the name column is not among them
	Rows   []string
	Values [][]float64 // by row, then column; 1 and 0 for yes and no
	Texts  [][]string  // by row, then column; the cell as written
	Places [][]source.Span
	NameAt []source.Span // by row; where its name stands
	Span   source.Span

	rows, cols map[string]int // where they are found by name, once all are there
}

// Index makes rows and columns be found at once; nothing is added after it.
func (c *Catalog) Index() {
	c.rows, c.cols = make(map[string]int, len(c.Rows)), make(map[string]int, len(c.Cols))
	for i := len(c.Rows) - 1; i >= 0; i-- {
		c.rows[c.Rows[i]] = i
	}
	for i := len(c.Cols) - 1; i >= 0; i-- {
		c.cols[c.Cols[i].Name] = i
	}
}

// Row finds a row by name, or -1.
func (c *Catalog) Row(name string) int {
	if c.rows != nil {
		return at(c.rows, name)
	}
	for i, r := range c.Rows {
		if r == name {
			return i
		}
	}
	return -1
}

// Col finds a column by name, or -1.
func (c *Catalog) Col(name string) int {
	if c.cols != nil {
		return at(c.cols, name)
	}
	for i := range c.Cols {
		if c.Cols[i].Name == name {
			return i
		}
	}
	return -1
}

func at(index map[string]int, name string) int {
	if i, ok := index[name]; ok {
		return i
	}
	return -1
}

// ColNames lists the columns' names.
func (c *Catalog) ColNames() []string {
	out := make([]string, len(c.Cols))
	for i := range c.Cols {
		out[i] = c.Cols[i].Name
	}
	return out
}

// FnParam is one parameter.
type FnParam struct {
	Name  string
	Unit  unit.Unit
	Bound *Bound
	Span  source.Span
}

// Fn is a checked function.
type Fn struct {
	Name   string
	Params []FnParam
	Body   *Node // over Param nodes; nil when its declaration has errors
	Span   source.Span
	Doc    string
}

// Context says where an expression stands and what it may see.
type Context struct {
	Scope  Scope
	Params []FnParam // inside a function's body
	Axes   []int     // the axes of the cell; meaningful if Cell
	Cell   bool      // axes and maps may stand here
	Maps   bool      // look-ups may stand here though there is no cell (checks)
	AnyAx  bool      // the cell's axes follow from the maps that are named (limits)
	Givens bool      // givens may stand here
	Chain  bool      // LO <= x <= HI may stand here (limits)
	Judge  bool      // comparisons of fixed values stay comparisons, not yes or no (checks)
	What   string    // "a `when`", for messages
	Use    string    // what to write instead, for cell values where there is no cell
}
