// Package review compares many tunes at once, for whoever signs a change: what
// changed, which element of the source did it, and whether it is still safe.
//
// How it goes. The tunes of two sides are paired (pair.go); those that one side
// alone has are paired as renamed where they are one tune (lone.go), and what was
// added is judged by both sides' limits and compared with a tune beside it
// (added.go). Maps, limits and checks that have another name alone are known by it
// (names.go). Each pair is computed and judged, its tables are compared and its
// changes attributed, all by package diff; of pairs that don't differ only numbers
// are kept (make.go).
// Then what was found is put in the order in which it has to be read (arrange.go):
// limits that newly fail, limits that ask less than they did, or say something
// else though no tune shows it (limits.go, checks.go, gather.go, asks.go), with
// what they read that changed (due.go); what else guards less: ranges, the policy,
// cautions (guards.go); tables of built folders that were edited, and tunes that
// weren't built (built.go); cells that stick out of their surroundings, alone or as
// a patch (spikes.go, patches.go), but for what a formula alone makes of them
// (switches.go); then groups of tunes that change the same way, the largest change
// first (groups.go), and last the source, each hunk with the changes that stand in it
// (changes.go, sources.go). What the policy allows is hidden, and counted.
//
// In: two Sides, each a compiled workspace or tables that were built. Out: a
// Review, which is written as text, Markdown or JSON here, and as a page by
// package page. Imported by page, the compiler and cmd.
package review
