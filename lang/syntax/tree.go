package syntax

import (
	"fettle/lang/source"
)

// File is the tree of one source file. Declarations that could not be read are
// Broken, or left out if they have no name; their errors stand in the list that
// Parse filled.
type File struct {
	Source   *source.File
	Decls    []Decl
	Comments []Comment
	Words    int  // words and signs; a grid is one
	Partial  bool // a declaration or a use is lost whose names can't be told
}

// Name is a name with its place.
type Name struct {
	Text string
	Span source.Span
}

// Expr is the tokens of an expression, read by package formula.
type Expr struct {
	Toks []Token
	Span source.Span
}

// UnitRef is a unit in brackets. Text is what stands between them.
type UnitRef struct {
	Text string
	Span source.Span // of the text between the brackets
}

// Text is a quoted text with its escapes undone.
type Text struct {
	Value string
	Span  source.Span
}

// Range is LO..HI; either end may be missing.
type Range struct {
	Lo, Hi *Expr
	Span   source.Span
}

// Part is one member of an over clause or a region: an axis with a range, or
// (Range nil) a region's name.
type Part struct {
	Name    Name
	Range   *Range
	Feather *Expr
	Span    source.Span
}

// Head is what every declaration has.
type Head struct {
	Keyword string
	Name    Name
	Doc     string      // the comment lines right above, without their #
	Span    source.Span // the whole declaration
}

// Header gives the common part of a declaration.
func (h *Head) Header() *Head { return h }

// Decl is one declaration: one of the pointer types below.
type Decl interface{ Header() *Head }

// Broken is a declaration that could not be read. It keeps its name, so that
// those who use it aren't told that there is no such thing.
type Broken struct{ Head }

// Use names a module of the standard library or a file of the workspace.
type Use struct {
	Head
	Items []UseItem
}

// UseItem is one member of a use: a module's name, or a file's.
type UseItem struct {
	Module Name
	File   *Text
	Span   source.Span
}

// Axis declares a named axis with its range.
type Axis struct {
	Head
	Unit  *UnitRef
	Range *Range
}

// Given declares a condition.
type Given struct {
	Head
	Unit    *UnitRef
	Catalog *Name
	Default *Expr
	Within  *Range
}

// Let declares a named value.
type Let struct {
	Head
	Unit *UnitRef
	Body *Expr
}

// Param is a parameter of a function.
type Param struct {
	Name   Name
	Unit   *UnitRef
	Within *Range
}

// Fn declares a function.
type Fn struct {
	Head
	Params []Param
	Unit   *UnitRef
	Body   *Expr
}

// Catalog declares a table of named rows, in place or in a CSV file.
type Catalog struct {
	Head
	File *Text
	Body *Token
}

// Curve declares a function of one quantity by a grid of one line.
type Curve struct {
	Head
	Unit *UnitRef
	Body *Token
}

// Map declares a grid: in place, from a CSV file, or like another by a formula.
type Map struct {
	Head
	Unit *UnitRef
	To   *Expr
	File *Text
	Body *Token
	Like *Name
	Expr *Expr
}

// Region names a part of the maps.
type Region struct {
	Head
	Parts []Part
}

// Adjust is one adjustment of a map: Map Op Amount [over …] [where …].
type Adjust struct {
	Map    Name
	Op     Token
	Amount *Expr
	Over   []Part
	Where  *Expr
	Span   source.Span
}

// Rule is named adjustments.
type Rule struct {
	Head
	When     *Expr
	Corrects []Name
	Adjusts  []*Adjust
	Partial  bool // some of its block could not be read
}

// Limit is what must hold.
type Limit struct {
	Head
	Cond  *Expr
	Where *Expr
	When  *Expr
	For   []Part // givens with the ranges over which it is proved
	Else  *Name
}

// Setting sets a given in a variant, or lists its values in a matrix.
type Setting struct {
	Given  Name
	Values []*Expr
	Span   source.Span
}

// Variant is one tune, or (Matrix) a matrix of tunes.
type Variant struct {
	Head
	Matrix   bool
	From     *Name
	Settings []*Setting
	Except   []*Expr
	Trims    []*Adjust
	Partial  bool
}

// Expect is one line of a check.
type Expect struct {
	Cond *Expr
	Tol  *Expr
	Span source.Span
}

// Check is a named set of expected values.
type Check struct {
	Head
	Title   Text
	With    Name
	Expects []*Expect
	Partial bool
}

// Allow is one line of a review: how far a map may change.
type Allow struct {
	Map    Name
	Amount *Expr
	Span   source.Span
}

// Review is what changes a reviewer needn't be shown. It has no name.
type Review struct {
	Head
	Allows  []*Allow
	Partial bool
}

// Target is the tables that a controller takes.
type Target struct {
	Head
	Compensates []Name
	Bytes       *Name
	Tables      []*TargetTable
	Partial     bool
}

// TargetTable is one table of a target: Name = Map as Type step Step offset
// Offset at Points.
type TargetTable struct {
	Name, Map    Name
	Type         *Name
	Step, Offset *Expr
	Points       []AxisPoints
	Doc          string
	Span         source.Span
}

// Bundle is tunes among which a switch on the bike selects.
type Bundle struct {
	Head
	For     *Name  // a target; nil for the maps' own tables
	Differs []Name // givens in which the slots may differ
	Slots   []*Slot
	Jumps   []*Allow // how far a table may differ from slot to slot
	Partial bool
}

// Slot is one place of the switch with its tune.
type Slot struct {
	Number Name
	Tune   Name
	Span   source.Span
}

// AxisPoints is the breakpoints of one axis: items, or Auto of them By a step.
type AxisPoints struct {
	Axis     Name
	Items    []PointItem
	Auto, By *Expr
	Span     source.Span
}

// PointItem is one breakpoint, or a range of them By a step.
type PointItem struct {
	Value *Expr
	Range *Range
	By    *Expr
	Span  source.Span
}

// Caution is a sentence that every output carries.
type Caution struct {
	Head
	Text Text
}
