package review

import (
	"fettle/compiler/check"
	"fettle/compiler/diff"
	"fettle/compiler/limit"
	"fettle/compiler/plan"
	"fettle/compiler/prove"
	"fettle/lang/source"
)

// Origin says what one side is.
type Origin struct {
	Title    string // for people: "HEAD~1 (3f2c1d0a)", "the work tree", "./before"
	Kind     string // KindRevision, KindWorkTree, KindFolder or KindFile
	Operand  string // as it was asked for; "" for the work tree
	Folder   string // of the work tree of another workspace than the one here
	Revision string // the commit's full hash; of a work tree the one it stands on; "" where there is none
	Dirty    bool   // of a work tree: whether it differs from that commit
	Digest   string // SHA-256 of the source; "" for tables without one
	Compiler string // the version that computed or built it; "" where that isn't known
}

// The kinds of side.
const (
	KindRevision = "revision"
	KindWorkTree = "work tree"
	KindFolder   = "folder"
	KindFile     = "file"
)

// Review is a whole comparison of two sides, worst first.
type Review struct {
	Old, New Origin
	Verdict  Verdict
	Counts   Counts
	Only     *Entry      // the pair, where a single one was compared, whether it differs or not
	Entries  []*Entry    // pairs of tunes with a cell beyond what is allowed, a newly failing limit, or tables that can't be compared; worst first
	Hidden   Hidden      // what the policy hides
	Allowed  []*Entry    // pairs that differ, but nowhere by more than is allowed, in the order of the source; none of them among Entries
	Groups   []*Group    // entries that change the same way, worst first
	Limits   []*Margin   // limits and checks whose verdict or margin changed: newly failing, then newly warning, newly near, the rest that moved, then recovered
	Spikes   []*Spike    // cells that changed far more than their neighbours, worst first
	Elements []*Change   // what changed in the source and moves cells, most first, then what moves none
	Renamed  []Rename    // the same tune under another name
	OldOnly  []diff.Lone // tunes that only one side has; of those that were really taken out or added, with their conditions
	NewOnly  []diff.Lone
	Edited   []Edited      // tables of built folders that were edited
	Added    []*Added      // those of NewOnly that are really new, examined
	Sources  []*SourceDiff // the text, file by file
	Guards   []*Guard      // what else holds less than it did: ranges, the policy, cautions
	Cautions []string      // of the new side, or of what has some
	Notes    []string      // what a reader has to know of how this was compared
	names    *names        // that are others on the new side; nil where that isn't known
}

// Verdict says how the texts and the tables of two sides compare.
type Verdict string

// The verdicts.
const (
	AllSame     Verdict = "same"        // same text, same tables
	Weakened    Verdict = "weakened"    // different text, same tables, held to less: a limit, check or guard asks less or something else
	Failing     Verdict = "failing"     // different text, same tables, and a limit or check that newly fails or warns
	Refactoring Verdict = "refactoring" // different text, same tables
	OutsideText Verdict = "outside"     // same text, different tables: a new compiler, or tables that were edited
	Changed     Verdict = "changed"     // different text, different tables
	TablesOnly  Verdict = "tables"      // nothing is known of the texts
)

// Counts are numbers of tunes.
type Counts struct {
	Pairs   int // compared
	Differ  int // with a cell that differs, allowed or not
	Beyond  int // with a cell beyond what is allowed
	Same    int // no cell differs
	Renamed int
	OldOnly int
	NewOnly int
	Failed  [2]int // tunes that can't be written, on the old side and on the new
	Cells   int    // that differ, over all pairs
	Looked  int    // at, over all pairs
}

// Hidden is what the policy hides.
type Hidden struct {
	Policy []string // as written: "fuel 2 %"
	From   string   // where it comes from: "--allow", or places in the source
	Cells  int
	Tunes  int // wholly hidden
}

// Entry is a pair of tunes that differs.
type Entry struct {
	Pair   *diff.Pair // every cell that differs, with its parts
	Name   string     // the tune's, or "OLD → NEW" where two names are compared
	Maps   []*EntryMap
	Limits []*Margin // of this pair alone
	Worst  *EntryMap // the one whose worst cell is the worst of the entry; nil without one
	Group  *Group
	Beside string  // of a tune that was added: the tune of its side that it is compared with, as if that were the old side; "" for all others
	OldT   *Judged // what was computed; nil for tables
	NewT   *Judged
}

// EntryMap is a map of an entry with what the policy leaves of it.
type EntryMap struct {
	Diff   *diff.MapDiff
	Shown  []int // places in Diff.Cells that are beyond what is allowed, worst first
	Hidden int
	By     []*diff.Element // with a part in a shown cell, largest part at the worst cell first
}

// Guard is something beside limits and checks that keeps a tune or a reviewer
// from harm, and does so less than it did.
type Guard struct {
	Kind  string    // GuardGiven, GuardAxis, GuardPolicy or GuardCaution
	Name  string    // of the given, axis or map; a caution's words
	Gone  bool      // only the old side has it
	Text  [2]string // "45 psi..60 psi", "2 %"; "" of what isn't there
	Place [2]source.Span
}

// The kinds of guard.
const (
	GuardGiven   = "given"   // takes values outside its range
	GuardAxis    = "axis"    // reaches further
	GuardPolicy  = "policy"  // hides larger changes of a map, or isn't there any more
	GuardCaution = "caution" // isn't told any more
)

// Judged is a tune that was computed and judged.
type Judged struct {
	Tune   *plan.Tune
	Side   *diff.Side
	Limits []*limit.Verdict
	Checks []*limit.Outcome
	Proofs []*prove.Verdict // of the limits that are proved over a range and apply
	// Everywhere judges by a limit without its own conditions; nil where that can't be done any more.
	Everywhere func(*check.Limit) *limit.Verdict
	Fault      string // why it couldn't be computed
	Fails      bool   // build wouldn't write it
}

// Group is a number of entries of which the same maps change by the same
// elements.
type Group struct {
	Entries []*Entry // worst first
	Maps    []*GroupMap
	Worst   *Entry
}

// GroupMap is what happens to one map over a group.
type GroupMap struct {
	Map, Unit, ChangeUnit string
	HasUnit               bool
	Tunes                 int  // entries in which it changes; the rest follow the same elements, and nothing is left of it as printed
	HasShare              bool // every cell of every entry has a share
	Min, Max              float64
	MinShare, MaxShare    float64
	MinCells, MaxCells    int // cells shown an entry
	Total                 int // cells of the map
	By                    []*diff.Element
}

// The kinds of change of a limit or check, in the order in which they are told.
const (
	NewlyFails = "newly fails"
	Loosened   = "loosened"          // it asks less than it did: a bound moved away, it looks at fewer cells, or its mode is milder; AsItWas judges the new side by what it was
	GoneLimit  = "gone"              // only the old side has it
	Lapsed     = "no longer applies" // its condition holds on the old side only
	Reworded   = "reworded"          // its text changed, and whether it asks less can't be seen
	Unproved   = "no longer proved"  // its proof over a range of conditions is lost, though nothing refutes it
	Worse      = "worse"             // it doesn't hold, as before, and by more or in more cells
	NewlyWarns = "newly warns"       // or newly caps cells
	NewlyNear  = "newly near"        // its margin fell under a tenth of what it was, or under 2 % of its bound
	Closer     = "closer"
	NewLimit   = "new"       // only the new side has it, or it applies there only
	Tightened  = "tightened" // it asks more than it did
	Farther    = "farther"
	Recovered  = "recovered" // failed or warned before, and holds now
)

// Margin is a limit or a check of one pair, or of many, before and after.
type Margin struct {
	Kind    string
	Proof   bool // of what can be proved of the limit over its range of conditions
	Check   bool // an expectation of a check block; Name is the block's title, Text the expectation
	Fault   bool // no limit: the tune can't be computed on a side; the State of that side says why
	Name    string
	Mode    string    // fail, warn or clamp, on the new side if it has it
	Text    [2]string // whole: "duty <= 85 % where rpm > 3000 else warn"; "" on a side that doesn't have it
	Place   [2]source.Span
	Before  *State // nil where that side doesn't have it
	After   *State
	AsItWas *State   // of a limit that asks something else: the new tables by the old bounds; nil where that can't be told
	Breaks  int      // how many of Tunes don't hold by the old bounds
	Tune    string   // the worst of Tunes
	Tunes   []string // in the order of the source
	Added   bool     // all of them are tunes that were added
	Entry   *Entry   // of Tune; nil if it isn't among the entries
	By      string   // of one newly failing, warning or near: what pushed it there, as "rule long_pipe"; "" where that isn't known
	ByAt    source.Span

	Alike    bool      // it asks something else by its text, but of no tune compared
	Unlooked int       // tunes that it looked at, and looks at no longer
	Moved    *Moved    // the bound that moved away furthest in Tune; nil for none
	Due      []*Change // what it reads that changed in the source, of one whose own text is the same

	asks    string // what asked says
	old     *limit.Verdict
	outcome *limit.Outcome
	new     *limit.Verdict
}

// Moved is a bound before and after.
type Moved struct {
	At      string
	AtArgs  []string
	Was, Is float64
	Unit    string
	share   float64
}

// State is what a limit says of a tune at its worst cell.
type State struct {
	Word                 string // holds, fails, warns, clamped, doesn't apply, can't be computed
	At                   string // "throttle 100 %, rpm 9000 rpm"; "" without a cell
	AtArgs               []string
	HasMargin            bool
	Margin, Value, Bound float64
	HasValues            bool   // of a check: Value is what it is, Bound what is expected
	Op                   string // of Value and Bound of a check, where that isn't ==
	Unit                 string
	Cells                int     // that fail, warn or are clamped
	Looked               int     // cells that the limit looks at
	Whole                bool    // the margin is certain of a whole range of conditions: Value and Bound are of no place
	Certain              string  // of a limit that can't be proved: what is certain of it, in words
	Problem              string  // why it can't be looked at or computed
	away                 float64 // of a check: the room that it has, negative where it fails
}

// Spike is a cell or a patch of cells, in one tune or in many, that changed far
// more than those around it.
type Spike struct {
	Map        string
	Unit       string
	At         string
	AtArgs     []string // as `why` takes them: "throttle=100"
	Tune       string   // the worst
	Tunes      []string
	Entry      *Entry
	Old, New   float64
	Change     float64
	Share      float64
	HasShare   bool
	Neighbours float64 // the largest change of a neighbour: a share where HasShare, else in the map's unit
	By         *diff.Element
	Cells      int     // of a patch of cells that were moved together: how many; 0 for a single one. At is all of them, the rest tells the worst
	Least      float64 // of a patch: its smallest change, and smallest share
	LeastShare float64
	Also       []string // maps that follow from Map and show it too, in the order of the source
}

// Edited is a table of a built folder that isn't what build wrote.
type Edited struct {
	File string // as it was asked for: "out/bench/fuel.csv"
	Tune string
	New  bool // it is on the new side
}

// Rename is a tune that has another name: one with the same cells, or at the same
// conditions with other ones, which then is among the pairs.
type Rename struct {
	Old, New string
	Changed  bool
}

// Change is an element of the source that changed.
type Change struct {
	Kind     string // as diff's kinds
	Name     string // "rule long_pipe"
	Places   [2]source.Span
	Why      string   // in a tuner's words: "fuel += 3 % (was 1 %)"
	Tunes    int      // in which it moves a cell, allowed or not
	Maps     []string // that it moves, in the order of the source
	Element  *diff.Element
	Text     [2]string // its text on both sides
	Elements []*diff.Element
}

// SourceDiff is a file whose text differs.
type SourceDiff struct {
	Name    string
	OldName string // of one renamed
	State   string // changed, added, removed or renamed
	Hunks   []Hunk
}

// Hunk is a stretch of changed lines, with the element whose text it is.
type Hunk struct {
	Head  string // "@@ -1,3 +1,4 @@"
	Lines []string
	By    []string // names of the changes that it causes; none where it moves no cell
	Old   [2]int   // lines of the old file, from and to; 0, 0 for none
	New   [2]int
}

// Policy answers whether a change is within what is allowed.
type Policy interface {
	Within(mapName string, old, new float64) bool
}

// Side is one side of a review: a compiled workspace with the tunes asked for,
// or tables read from a folder or file.
type Side struct {
	Origin  Origin
	Program *check.Program // nil for tables
	Plan    *plan.Plan
	Tunes   []*plan.Tune
	Judge   func(*plan.Tune) *Judged
	Prove   int // how much work Judge puts into proving a limit over its range
	// ByLimits judges the tables of a tune of another side by this side's limits;
	// nil for tables.
	ByLimits func(*diff.Side) []*limit.Verdict
	Tables   []*diff.Side
	Pattern  string // that the tunes were asked for by
	Single   bool   // one tune was named, so that it pairs with the other side's one whatever their names
}
