package emit

import (
	"bytes"
	"errors"
	"math"
	"strconv"

	"fettle/compiler/grid"
)

// The versions of what is written. A reader refuses others.
const (
	TuneVersion  = "fettle/tune/1"
	IndexVersion = "fettle/index/1"
)

// Number is a number as JSON has it: plain decimals, never an exponent, and a
// zero without a sign.
type Number float64

// MarshalJSON implements json.Marshaler.
func (n Number) MarshalJSON() ([]byte, error) { return n.append(nil) }

var errNotFinite = errors.New("a number that isn't finite has no place in JSON")

func numbers(xs []float64) []Number {
	out := make([]Number, len(xs))
	for i, x := range xs {
		out[i] = Number(x)
	}
	return out
}

// six rounds to the six significant digits to which values are printed.
func six(x float64) Number { return Number(grid.Res{}.Round(x)) }

// room rounds the difference of two values to a billionth of their size: what
// the limits can tell apart, and coarser than the noise of subtracting.
func room(x, a, b float64) Number {
	var buf [32]byte
	text := strconv.AppendFloat(buf[:0], math.Max(math.Abs(a), math.Abs(b)), 'e', 0, 64)
	_, exponent, ok := bytes.Cut(text, []byte("e"))
	n, err := strconv.Atoi(string(exponent))
	if res := billionth(n); ok && err == nil && res.Set() {
		return Number(res.Round(x))
	}
	return six(x)
}

// billionth is the resolution of a billionth of a power of ten; none where there
// is no such resolution.
func billionth(power int) grid.Res {
	if i := power + len(billionths)/2; i >= 0 && i < len(billionths) {
		return billionths[i]
	}
	res, _ := grid.NewRes("1e" + strconv.Itoa(power-8))
	return res
}

// billionths are those of the usual powers.
var billionths = func() (out [24]grid.Res) {
	for i := range out {
		out[i], _ = grid.NewRes("1e" + strconv.Itoa(i-len(out)/2-8))
	}
	return out
}()

// Tune is a tune.json.
type Tune struct {
	Schema     string       `json:"schema"`
	Name       string       `json:"name"`
	Variant    string       `json:"variant"` // the declared variant or matrix
	From       string       `json:"from,omitempty"`
	Doc        string       `json:"doc,omitempty"`
	Source     SourceInfo   `json:"source"`
	Compiler   string       `json:"compiler"`
	Conditions []Condition  `json:"conditions"`
	Maps       []Map        `json:"maps"`
	Rules      []Rule       `json:"rules"`
	LeftOut    []LeftOut    `json:"left_out"`
	Trims      []Adjustment `json:"trims"`
	Filled     []Filled     `json:"filled"`
	Limits     []Limit      `json:"limits"`
	Checks     []Check      `json:"checks"`
	Cautions   []string     `json:"cautions"`
	Targets    []Target     `json:"targets,omitempty"`
	Files      []FormatFile `json:"files,omitempty"` // of the formats beside CSV
}

// FormatFile is a file of a format beside CSV, in the tune's folder.
type FormatFile struct {
	Format string `json:"format"`
	File   string `json:"file"`
	SHA256 string `json:"sha256"`
}

// SourceInfo says which source a tune was made from.
type SourceInfo struct {
	Digest   string  `json:"digest"`
	Revision *string `json:"revision"`
	Dirty    bool    `json:"dirty"`
}

// Condition is the value of a given. Value is a Number, the name of a row, or a
// bool.
type Condition struct {
	Name    string `json:"name"`
	Kind    string `json:"kind"` // number, choice, switch
	Value   any    `json:"value"`
	Unit    string `json:"unit"`
	Catalog string `json:"catalog,omitempty"`
	Text    string `json:"text"`
	Set     bool   `json:"set"` // by the variant; otherwise it is the default
}

// Axis is an axis of a map with its breakpoints.
type Axis struct {
	Name        string   `json:"name"`
	Unit        string   `json:"unit"`
	Breakpoints []Number `json:"breakpoints"`
}

// Map is a table. Its axes are the rows' and the columns', or the one it has.
type Map struct {
	Name       string  `json:"name"`
	Unit       string  `json:"unit"`
	Doc        string  `json:"doc,omitempty"`
	Axes       []Axis  `json:"axes"`
	Resolution *Number `json:"resolution"`     // nil: six significant digits
	File       string  `json:"file,omitempty"` // none in a build without CSV
	SHA256     string  `json:"sha256,omitempty"`
}

// Place is a place in the source.
type Place struct {
	File string `json:"file"`
	Line int    `json:"line"`
}

// Rule is a rule that applied.
type Rule struct {
	Name string `json:"name"`
	Place
	Doc         string       `json:"doc,omitempty"`
	When        string       `json:"when,omitempty"`
	Adjustments []Adjustment `json:"adjustments"`
}

// Adjustment is what one adjustment did: cells that it touched, which have a
// weight, and those whose value changed.
type Adjustment struct {
	Map  string `json:"map"`
	Text string `json:"text"`
	Place
	Touched int `json:"touched"`
	Changed int `json:"changed"`
}

// LeftOut is a rule that didn't apply.
type LeftOut struct {
	Name string `json:"name"`
	Place
	Doc    string `json:"doc,omitempty"`
	Reason string `json:"reason"`
}

// Filled lists the cells of a map that were blank in the source.
type Filled struct {
	Map   string       `json:"map"`
	Axes  []string     `json:"axes"`
	Cells []FilledCell `json:"cells"`
}

// FilledCell is a filled cell and the cells that it was filled from, by the
// map's axes.
type FilledCell struct {
	At   []Number   `json:"at"`
	From [][]Number `json:"from"`
}

// Coordinate is a place along an axis.
type Coordinate struct {
	Axis  string `json:"axis"`
	Value Number `json:"value"`
	Unit  string `json:"unit"`
}

// Limit is how a limit came out.
type Limit struct {
	Name string `json:"name"`
	Place
	Doc    string   `json:"doc,omitempty"`
	Text   string   `json:"text"`
	Where  string   `json:"where,omitempty"`
	When   string   `json:"when,omitempty"`
	Mode   string   `json:"mode"`  // fail, warn, clamp
	State  string   `json:"state"` // holds, not here, clamped, warns, fails
	Reason string   `json:"reason,omitempty"`
	Maps   []string `json:"maps"`
	Cells  int      `json:"cells"` // looked at
	Bad    int      `json:"bad"`   // where it doesn't hold, or that were capped
	Worst  *Worst   `json:"worst"` // nil where there is none to show
	Proof  *Proof   `json:"proof,omitempty"`
}

// Proof is what could be proved of a limit over a range of conditions. The margin
// is the room that is certain everywhere, rounded down; where the limit is refuted,
// that at the breach. It is nil where the limit compares nothing.
type Proof struct {
	For    []Extent `json:"for"`
	State  string   `json:"state"` // proved, undecided, refuted
	Margin *Number  `json:"margin"`
	Unit   string   `json:"unit"`
	Boxes  int      `json:"boxes"` // that were looked at
	Reason string   `json:"reason,omitempty"`
	Breach *Breach  `json:"breach,omitempty"`
}

// Extent is how far a condition may vary.
type Extent struct {
	Given string `json:"given"`
	Lo    Number `json:"lo"`
	Hi    Number `json:"hi"`
	Unit  string `json:"unit"`
}

// Breach is where a limit is refuted: the conditions, and the place on the maps,
// which may lie between breakpoints.
type Breach struct {
	Conditions []Setting    `json:"conditions"`
	At         []Coordinate `json:"at"`
	Value      *Number      `json:"value"`
	Bound      *Number      `json:"bound"`
}

// Setting is the value of a given.
type Setting struct {
	Given string `json:"given"`
	Value Number `json:"value"`
	Unit  string `json:"unit"`
}

// Worst is the cell that is nearest to a limit's bound, or farthest past it.
// The numbers are nil where the limit compares nothing.
type Worst struct {
	At     []Coordinate `json:"at"`
	Value  *Number      `json:"value"`
	Bound  *Number      `json:"bound"`
	Margin *Number      `json:"margin"` // negative when it is past
	Unit   string       `json:"unit"`
	Blame  *Blame       `json:"blame,omitempty"`
}

// Blame says what took a worst cell past its bound.
type Blame struct {
	By     string `json:"by"` // "base", "rule NAME", "trim", "clamp NAME"
	Pushes []Push `json:"pushes"`
}

// Push is what one element did to the margin, the base's first.
type Push struct {
	By     string `json:"by"`
	Place  *Place `json:"place,omitempty"`
	Change Number `json:"change"`
	After  Number `json:"after"`
}

// Check is how an expected value came out.
type Check struct {
	Title string `json:"title"`
	With  string `json:"with"`
	Place
	Text    string  `json:"text"`
	OK      bool    `json:"ok"`
	Got     *Number `json:"got"`
	Want    *Number `json:"want"`
	Unit    string  `json:"unit"`
	Problem string  `json:"problem,omitempty"`
}

// The status of a tune in an index.
const (
	Written = "written"
	Failed  = "failed"
	Kept    = "kept"
)

// Index is an index.json.
type Index struct {
	Schema   string     `json:"schema"`
	Source   SourceInfo `json:"source"`
	Compiler string     `json:"compiler"`
	Counts   Counts     `json:"counts"`
	Tunes    []Entry    `json:"tunes"`
	// The bundles of tunes that a switch selects among.
	Bundles  []BundleEntry `json:"bundles,omitempty"`
	Cautions []string      `json:"cautions"`
}

// Counts says how many tunes there are of each status.
type Counts struct {
	Written int `json:"written"`
	Failed  int `json:"failed"`
	Kept    int `json:"kept"`
	// Of the tunes that stand in the folder, those that do for each target.
	Targets []TargetCounts `json:"targets,omitempty"`
}

// Entry is one tune of an index. A kept tune may come from an older source than
// the index, so each says its own.
type Entry struct {
	Name         string      `json:"name"`
	Status       string      `json:"status"`
	Conditions   []Condition `json:"conditions"`
	Digest       *string     `json:"digest"` // nil for a failed tune; see Digest
	SourceDigest string      `json:"source_digest"`
	Reasons      []string    `json:"reasons,omitempty"`
	// How the tune came out for each target, where it holds itself.
	Targets []TargetStatus `json:"targets,omitempty"`
}
