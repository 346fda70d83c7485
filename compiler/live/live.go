// Package live writes a tune as a workbook whose cells are formulas, so that
// someone without fettle can follow every number, with any spreadsheet.
//
// How it goes. The conditions stand on one sheet, the catalogues and curves on
// another. Every map has a block of cells on the sheet "base", with its
// breakpoints; a cell that was blank in the source is the formula that fills it.
// Then, map by map in the order of evaluation, each adjustment that applies adds
// blocks to its rule's sheet: amount, weight, and the map after it. Trims and
// caps have sheets of their own. "result" has each map as computed and as
// written, "check" the compiled values as plain numbers and the differences,
// which are all zero (steps.go, result.go).
//
// An expression becomes a formula by its checked tree (expr.go). What is used
// more than once, named, or too long gets cells of its own: on the sheet
// "values" where it is the same in every cell, beside the adjustment where it
// isn't. A look-up between breakpoints is two such helpers for each coordinate,
// which breakpoint lies below and how far the place is towards the next
// (lookup.go). While a formula is made, its value is computed too, for programs
// that show a workbook without recalculating it; that value comes from nothing
// but the formula's own parts.
//
// In: emit.Content. Out: one file. Imported by cmd.
package live

import (
	"fmt"
	"strings"

	"fettle/compiler/check"
	"fettle/compiler/emit"
	"fettle/compiler/plan"
	"fettle/compiler/workbook"
	"fettle/lang/formula"
	"fettle/lang/source"
)

// Format is the live workbook, as a build takes it.
var Format = emit.Format{Name: "live", Files: files}

// files gives the workbook of a tune. A target's tables have none: they are what
// this workbook ends at, resampled.
func files(c *emit.Content) ([]emit.File, error) {
	if c.Target != "" {
		return nil, nil
	}
	b := &builder{in: &c.Input, about: c.About, p: c.Input.Program, env: c.Input.Tune.Conditions(c.Input.Program), book: workbook.New()}
	if err := b.build(); err != nil {
		return nil, err
	}
	data, err := b.book.Bytes()
	if err != nil {
		return nil, err
	}
	return []emit.File{{Path: "live.xlsx", Data: data}}, nil
}

// builder is a workbook in the making.
type builder struct {
	in    *emit.Input
	about *emit.Tune
	p     *check.Program
	env   *plan.Conditions
	book  *workbook.Book

	readme, conditions, catalogs, values, base, trims, caps, result, check *sheet
	rules                                                                  map[*check.Rule]*sheet
	applied                                                                map[*check.Rule]bool

	given    []int                     // by given: its row on the sheet of conditions
	catalog  map[*formula.Catalog]int  // the row of its first row
	curves   map[*formula.Curve]*block // two columns
	named    map[helperKey]*block      // on the sheet of values
	known    map[string]*block         // on the sheet of values, by formula
	baseOf   []*block                  // by map
	final    []*block                  // by map, on the sheet of results
	written  []*block
	problems []error
}

func (b *builder) build() error {
	if err := b.sheets(); err != nil {
		return err
	}
	b.listConditions()
	b.listCatalogs()
	b.values.heading("Values that are the same in every cell", "what it is, its value and unit, and where it stands in the source")
	b.values.row++
	b.base.heading("The base of each map, before any rule", "leaning: filled in from the neighbours, as the formula says")
	b.result.heading("What the tune comes to", "each map as computed, and as written to its table")
	b.startCheck()
	b.baseOf, b.final, b.written = make([]*block, len(b.p.Maps)), make([]*block, len(b.p.Maps)), make([]*block, len(b.p.Maps))
	for _, i := range b.p.Order {
		b.oneMap(b.p.Maps[i])
	}
	b.endCheck()
	b.listRules()
	b.readMe()
	for _, err := range b.problems {
		return err
	}
	return nil
}

// sheets decides which rules apply, and makes the sheets in the order in which
// they are to be read.
func (b *builder) sheets() error {
	b.catalog, b.curves, b.named = map[*formula.Catalog]int{}, map[*formula.Curve]*block{}, map[helperKey]*block{}
	b.known = map[string]*block{}
	b.rules, b.applied = map[*check.Rule]*sheet{}, map[*check.Rule]bool{}
	b.readme, b.conditions, b.catalogs, b.values, b.base = b.sheet("read me"), b.sheet("conditions"), b.sheet("catalogs"), b.sheet("values"), b.sheet("base")
	for _, r := range b.p.Rules {
		yes := r.When == nil
		if !yes {
			var err error
			if yes, err = formula.Decide(r.When, b.env); err != nil {
				return err
			}
		}
		if b.applied[r] = yes; yes {
			s := b.sheet("rule " + r.Name)
			s.heading("rule "+r.Name, r.Doc)
			b.rules[r] = s
		}
	}
	if len(b.in.Tune.Trims) > 0 {
		b.trims = b.sheet("trims")
		b.trims.heading("Trims: what is added to this tune alone", "")
	}
	for _, m := range b.p.Maps {
		if len(m.Clamps) > 0 && b.caps == nil {
			b.caps = b.sheet("caps")
			b.caps.heading("Limits that cap a map", "")
		}
	}
	b.result, b.check = b.sheet("result"), b.sheet("check")
	return nil
}

// readMe says on the first sheet what the workbook is and how to go through it.
func (b *builder) readMe() {
	s := b.readme
	s.text(b.about.Name, bold)
	if b.about.Doc != "" {
		s.text(b.about.Doc, plain)
	}
	s.text("written by fettle "+b.about.Compiler+" from the source "+b.about.Source.Digest, plain)
	s.row++
	s.text("Every number here is a formula, or stands in the source. How to follow one:", bold)
	for _, line := range []string{
		"result: each map as computed and as written. Pick a cell and follow its formula back.",
		"rule …: one sheet for each rule that applies. Its adjustments have an amount, a weight from 0 to 1, and the map after them.",
		"base: each map before any rule, with its breakpoints.",
		"values: what an expression comes to that is the same in every cell. catalogs, conditions: what they are made from.",
		"check: the values that fettle compiled, as plain numbers, and how far the formulas are from them: all zero.",
		"A rule that doesn't apply has no sheet; the sheet of conditions says which, and why.",
	} {
		s.text(line, plain)
	}
	s.row++
	s.text("Cautions", bold)
	for _, c := range b.about.Cautions {
		s.text(c, plain)
	}
	s.row++
	s.cells(head, "limit", "what must hold", "how it came out")
	for _, l := range b.about.Limits {
		s.cells(wrapped, l.Name, l.Text, l.State)
	}
	s.Width(1, 28)
	s.Width(2, 60)
	s.Width(3, 18)
}

func (b *builder) fail(format string, args ...any) {
	b.problems = append(b.problems, fmt.Errorf(format, args...))
}

// oneLine is the text of a part of the source.
func oneLine(s source.Span) string {
	if s.IsZero() {
		return ""
	}
	text := source.OneLine(s.Text())
	if runes := []rune(text); len(runes) > 120 {
		text = string(runes[:119]) + "…"
	}
	return text
}

func place(s source.Span) string {
	if s.IsZero() {
		return ""
	}
	return strings.TrimSpace(s.String())
}
