// Package check settles the meaning of a gathered workspace: units, the shape
// of every map, every expression, the order in which maps are computed.
//
// How it goes. Axes, catalogues and givens are read first, then the heads and
// grids of maps, then the maps that are like others; with those known, every
// expression can be checked: formulas, rules, limits, variants, checks, reviews,
// targets, bundles. Values
// and functions are checked when something first names them, which finds
// circles among them. Last, the maps are put in an order in which each comes
// after those it reads; a circle is an error that names its members.
//
// In: resolve.Program. Out: a Program whose expressions are all checked trees,
// and diagnostics. Imported by plan and the stages after it.
package check

import (
	"fettle/compiler/grid"
	"fettle/compiler/resolve"
	"fettle/lang/formula"
	"fettle/lang/source"
	"fettle/lang/unit"
)

// Program is a checked workspace.
type Program struct {
	Resolved *resolve.Program
	Axes     []*Axis
	Givens   []*Given
	Catalogs []*formula.Catalog
	Maps     []*Map
	Order    []int // maps in an order in which each comes after those it reads
	Regions  []*Region
	Rules    []*Rule
	Limits   []*Limit
	Variants []*Variant
	Checks   []*Check
	Allow    []Allowance // of all reviews, in the order of the maps; one a map
	Targets  []*Target
	Bundles  []*Bundle
	Cautions []string
	Scope    formula.Scope
	reads    [][]int                   // by map: the maps that it reads
	symbols  map[string]formula.Symbol // what its names stand for, if nothing was to be said of it
}

// Axis is a declared axis.
type Axis struct {
	Name   string
	Unit   unit.Unit
	Lo, Hi float64
	Span   source.Span
	Doc    string
}

// GivenKind is what a condition is.
type GivenKind uint8

// The kinds of condition.
const (
	Number GivenKind = iota
	Choice
	Switch
)

// Given is a condition of a tune. Its values are numbers: in its unit, a row's
// index, or 1 and 0 for yes and no.
type Given struct {
	Name    string
	Kind    GivenKind
	Unit    unit.Unit
	Catalog *formula.Catalog
	Default float64
	Lo, Hi  float64 // infinite without a `within`
	Within  source.Span
	Span    source.Span
	Doc     string
}

// Map is a declared map with its base.
type Map struct {
	Index   int
	Name    string
	Unit    unit.Unit
	Res     grid.Res
	Axes    []int // rows first; one or two
	Base    grid.Table
	Given   []bool        // which cells of the base were written
	From    [][]int       // what a filled cell leaned on
	Places  []source.Span // of each cell, where it was written
	Like    *Map          // the map whose breakpoints these are
	Formula *formula.Node // nil for a grid
	Steps   []*Step       // of the rules, in order
	Clamps  []*Limit      // clamps on this map, in order
	Span    source.Span
	Doc     string
	decl    *mapDecl
}

// Step is one adjustment.
type Step struct {
	Rule     *Rule // nil for a trim
	Map      *Map
	Op       string // = += -= *= /=
	Relative bool   // += or -= of a share of the value here
	Amount   *formula.Node
	Unit     unit.Unit // of the amount: the map's, its difference, or a plain number
	Over     []Weight
	Where    *formula.Node
	Self     bool // the amount or the where reads the map itself
	Span     source.Span
	OverText string
	Index    int // unique in the program: order of the source
}

// Weight is a range of an axis with its feather. A nil bound is open.
type Weight struct {
	Axis            int
	Lo, Hi, Feather *formula.Node
	Region          string
	Span            source.Span
}

// Region is a named part of the maps.
type Region struct {
	Name  string
	Parts []Weight
	Span  source.Span
	Doc   string
	used  bool
}

// Rule is a named list of adjustments.
type Rule struct {
	Index    int
	Name     string
	When     *formula.Node // nil: always
	WhenText string
	Corrects []int // givens
	Steps    []*Step
	Span     source.Span
	Doc      string
}

// Mode is what a failing limit does.
type Mode uint8

// The modes of a limit.
const (
	Fail Mode = iota
	Warn
	Clamp
)

func (m Mode) String() string { return [...]string{"fail", "warn", "clamp"}[m] }

// Limit is what must hold in every cell.
type Limit struct {
	Index   int
	Name    string
	Cond    *formula.Node
	Where   *formula.Node
	When    *formula.Node
	Mode    Mode
	Maps    []int // the maps it names
	Axes    []int // of the cells it looks at
	Clamped *Map  // for a clamp
	Lo, Hi  *formula.Node
	For     []Extent // the conditions over which it is proved, by given; none: it is only looked at in each tune's own
	ForText string
	Text    string
	Span    source.Span
	Doc     string
}

// Extent is how far one condition may vary under a limit that is proved over a
// range, in the given's unit.
type Extent struct {
	Given  int
	Lo, Hi float64
	Span   source.Span
}

// Variant is a declared variant or matrix.
type Variant struct {
	Name     string
	Matrix   bool
	From     string
	FromSpan source.Span
	Settings []Setting
	Excepts  []Except
	Trims    []*Step
	Broken   bool // its conditions have errors, so its tunes aren't known
	Span     source.Span
	Doc      string
}

// Setting gives a given its values.
type Setting struct {
	Given  int
	Values []Setpoint
	Span   source.Span
}

// Setpoint is one value of a setting, and how it reads in a tune's name.
type Setpoint struct {
	Value float64
	Text  string
	Span  source.Span
}

// Except leaves combinations out of a matrix.
type Except struct {
	Cond *formula.Node
	Text string
	Span source.Span
}

// Check is a set of expected values.
type Check struct {
	Title   string
	With    string
	WithAt  source.Span
	Expects []*Expect
	Span    source.Span
}

// Expect is one expected value. For a comparison with == Left and Right are set.
type Expect struct {
	Cond        *formula.Node
	Left, Right *formula.Node // in one unit
	Tol         *formula.Node // in that unit; relative when TolShare
	TolShare    bool
	Text        string
	Span        source.Span
}
