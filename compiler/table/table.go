// Package table is a table as it is written: of a map as it stands, or one of a
// controller's own, with how its values are stored.
//
// In: breakpoints and values. Out: Tables, which the output formats take. It
// imports grid alone; resample, target, emit and the compiler import it.
package table

import "fettle/compiler/grid"

// Axis is an axis of a table with its breakpoints.
type Axis struct {
	Name, Unit string
	Points     []float64
}

// Table is one table to be written. Its values are what is written: rounded, and
// of a stored one exactly what the raw numbers mean.
type Table struct {
	Name    string // of the file, the sheet, the array
	Map     string // that it shows; its own name where it is the map itself
	Unit    string
	Doc     string
	Rows    Axis // zero over one axis
	Cols    Axis
	Cells   []float64 // row by row
	Res     grid.Res  // of a map's own; of a stored table the step says it
	Storage *Storage  // nil for a map's own table
}

// Storage is how a controller keeps a table's values: value = offset + raw * step.
type Storage struct {
	Type   Type
	Step   float64 // in the table's unit; 1 for f32, which keeps values as they are
	Offset float64
	Big    bool      // the high byte first
	Raw    []float64 // whole numbers that fit the type, or float32 values
}

// Type is a way of storing a number.
type Type string

// The types.
const (
	U8  Type = "u8"
	I8  Type = "i8"
	U16 Type = "u16"
	I16 Type = "i16"
	U32 Type = "u32"
	I32 Type = "i32"
	F32 Type = "f32"
)

// Types lists them.
var Types = []Type{U8, I8, U16, I16, U32, I32, F32}

// Bits is a type's width.
func (t Type) Bits() int {
	switch t {
	case U8, I8:
		return 8
	case U16, I16:
		return 16
	}
	return 32
}

// Range gives the lowest and the highest whole number of an integer type.
func (t Type) Range() (lo, hi float64) {
	switch t {
	case U8:
		return 0, 1<<8 - 1
	case I8:
		return -1 << 7, 1<<7 - 1
	case U16:
		return 0, 1<<16 - 1
	case I16:
		return -1 << 15, 1<<15 - 1
	case U32:
		return 0, 1<<32 - 1
	}
	return -1 << 31, 1<<31 - 1
}
