// Package work holds the budgets of a compile: how much is read, written out,
// multiplied and computed before a source is refused as one that would never end.
//
// A budget counts work (words, steps, cells, tunes, comparisons), not the size of
// files, since a short source can ask for a great deal. Each is far more than a
// tuner's workspace needs, is looked at before the work is done, and is refused
// with its value and a diagnostic. What bounds the form of a source (how deep
// parentheses stand, how long a name is) is no budget and stands where it is read.
//
// One number, the command's --work, raises all budgets alike. It is set once,
// before anything is read, so whatever is kept from one compile for another was
// made under the same budgets.
//
// In: a number of times. Out: what is allowed. Everything may import it; it
// imports nothing.
package work

import "sync/atomic"

// The budgets, as they are without --work.
const (
	Words     = 1_000_000         // words and signs of a workspace's sources; a grid is one
	Steps     = 1_000_000         // steps of all expressions of a workspace, functions written out
	Maps      = 8_000_000         // cells of all maps of a workspace together
	Compare   = 100_000_000       // steps that tell which combinations are tunes, and which tunes a pattern names
	Tables    = 5_000_000_000     // cells of all tables of all tunes that one command computes
	Computing = 1_000_000_000_000 // steps of formulas and rules, a cell each, of all tunes that one command computes
)

// MaxTimes is the most that --work takes.
const MaxTimes = 1000

var times atomic.Int64

// Set raises all budgets so many times. It is called once, before anything is read.
func Set(n int) { times.Store(int64(n)) }

// Most is what a budget allows.
func Most(budget int) int { return budget * int(max(1, times.Load())) }

// Hint says how a budget is raised.
const Hint = "`--work 2` allows twice as much, for a source that you trust"
