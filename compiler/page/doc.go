// Package page writes a review as one HTML file, for whoever signs a change. The
// file needs nothing but itself: it is opened from disk, asks nothing of any
// network, and names a content policy that lets only its own style and its own
// script in, by their digests.
//
// How it goes. What has to be read first is written as plain HTML (view.go and
// its templates): the verdict, what was compared, alarms, groups, limits and
// margins, what changed in the source, cautions, and the tables of each group's
// worst tune (heat.go). So it is there without a script and on paper too. Behind
// it stands the data of every tune (data.go) for a script that shows any of
// them: tables as shaded cells, slices, a surface, and of each cell the chain
// before and after.
//
// The data is made small in three ways. A table that stands in many tunes is kept
// once; every other one is told as what it differs by from one alike, scaled
// (columns.go). A chain is kept as its steps with their amounts and weights,
// from which the script computes each cell's values as the evaluator does
// (chains.go). What is still large is deflated; and where even that is over the
// size that is asked for, the tunes that change least go without chains, and then
// without tables, and the page says so (fit.go).
//
// Names and texts of a source reach the page as text only: through html/template
// in the HTML, as escaped JSON in the data, and by textContent in the script.
// Nothing of it depends on the clock, the machine or the order of a map: one
// Review gives the same bytes always.
//
// In: a review.Review. Out: the file's bytes. Imported by cmd.
package page
