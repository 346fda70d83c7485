package diff

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"fettle/compiler/grid"
	"fettle/lang/diag"
	"fettle/lang/unit"
)

// TextOptions says how a report is written for people.
type TextOptions struct {
	Color bool   // shade cells: blue for less, orange for more, each with its sign
	Width int    // of the terminal; 0 for 120 columns
	Cells bool   // every cell that differs, however wide and long that is
	Call  string // how fettle was called, for the command at the end; "" for its plain name
}

func (o TextOptions) call() string {
	if o.Call == "" {
		return "fettle"
	}
	return o.Call
}

// defaultWidth is what grids are folded to where no width is known.
const defaultWidth = 120

// label is the width of the words that lines of a block begin with.
const label = 10

// Text writes a report for a terminal: the tunes, each map that differs with the
// cells that do and what moved them, and last the command that explains the worst
// cell of the first map. A map's worst cell is the one of the largest change by
// its amount (where another's is larger by its share, that is named too), and
// maps stand in the order of that change as a part of their largest value.
func (r *Report) Text(w io.Writer, opt TextOptions) error {
	if opt.Width <= 0 {
		opt.Width = defaultWidth
	}
	t := &textWriter{opt: opt}
	alike := 0
	for _, p := range r.Pairs {
		if r.Folders && !p.Differs() {
			alike++
			continue
		}
		x := p.Text(opt)
		for _, block := range []string{x.Head, x.Body, x.Why} {
			if block != "" {
				t.section()
				t.b.WriteString(block)
			}
		}
	}
	r.lone(t, r.OldOnly, "old", r.Old, "new", r.New)
	r.lone(t, r.NewOnly, "new", r.New, "old", r.Old)
	if r.Folders && alike > 0 {
		t.section()
		t.line("%s", counted(alike, "tune is the same", "tunes are the same"))
	}
	if r.Folders && len(r.Pairs)+len(r.OldOnly)+len(r.NewOnly) == 0 {
		t.line("no tune on either side")
	}
	_, err := io.WriteString(w, t.b.String())
	return err
}

func (r *Report) lone(t *textWriter, list []Lone, side, name, other, otherName string) {
	if len(list) == 0 {
		return
	}
	if name == "" {
		name, otherName = side, other
	}
	t.section()
	for _, l := range list {
		why := ""
		if l.Why != "" {
			why = "   " + otherName + ": " + l.Why
		}
		t.line("only in %s   %s%s", name, l.Name, why)
	}
}

type textWriter struct {
	b   strings.Builder
	opt TextOptions
}

// line writes a line. What came from a source or a file can't say anything to
// the terminal: it is spelled out.
func (t *textWriter) line(format string, args ...any) {
	t.colored(diag.Clean(fmt.Sprintf(format, args...)))
}

// colored writes a line as it is.
func (t *textWriter) colored(line string) {
	t.b.WriteString(strings.TrimRight(line, " "))
	t.b.WriteByte('\n')
}

// section puts a blank line between blocks.
func (t *textWriter) section() {
	if t.b.Len() > 0 {
		t.b.WriteByte('\n')
	}
}

// labelled writes a line of a block under its word.
func (t *textWriter) labelled(word, format string, args ...any) {
	t.line("  %s%s", pad(word, label), fmt.Sprintf(format, args...))
}

// PairText is a pair written for a terminal, in parts, for those who put
// something between them. A part ends its last line, and may be "".
type PairText struct {
	Head string // what is compared, where the pair has a head of its own
	Body string // the maps that differ, what moved them, and the rest
	Why  string // the command that explains the worst cell
}

// Text writes a pair.
func (p *Pair) Text(opt TextOptions) PairText {
	if opt.Width <= 0 {
		opt.Width = defaultWidth
	}
	head, body, why := &textWriter{opt: opt}, &textWriter{opt: opt}, &textWriter{opt: opt}
	named := p.Labels[0] == "A" && p.Old.Name+p.New.Name != ""
	if named {
		head.line("A   %s", p.Old.Name)
		head.line("B   %s", p.New.Name)
		for _, d := range p.Conditions {
			head.line("    %s", d.Text())
		}
	} else if len(p.Conditions) > 0 {
		head.line("%s   %s", p.New.Name, conditionsText(p.Conditions))
	}
	maps := p.InOrder()
	body.overview(p.Maps)
	var equal, allowed []string
	for _, m := range maps {
		switch {
		case !m.Differs() && len(m.allowed) > 0:
			allowed = append(allowed, m.Map)
			continue
		case !m.Differs():
			equal = append(equal, m.Map)
			continue
		}
		body.section()
		name := ""
		if !named && p.New.Name != "" {
			name = p.New.Name + "   "
		}
		body.mapDiff(p, m, name)
	}
	body.rest(p, equal, allowed)
	if cmd := p.whyCommand(opt.call()); cmd != "" {
		why.line("%s", cmd)
	}
	return PairText{head.b.String(), body.b.String(), why.b.String()}
}

// rest says what there is to say beside the maps that differ.
func (t *textWriter) rest(p *Pair, equal, allowed []string) {
	switch differs := p.Differs(); {
	case !differs && len(allowed) > 0:
		t.line("no cell differs beyond what is allowed")
	case !differs && len(p.Conditions) > 0:
		t.line("no cell differs, although the conditions do")
	case !differs:
		t.line("no cell differs")
	case len(equal)+len(allowed)+len(p.OldOnly)+len(p.NewOnly)+len(p.Idle) > 0:
		t.section()
	}
	if len(allowed) > 0 {
		t.line("allowed     %s", strings.Join(allowed, ", "))
	}
	if len(equal) > 0 && p.Differs() {
		t.line("equal       %s", strings.Join(equal, ", "))
	}
	if len(p.OldOnly) > 0 {
		t.line("only in %s   %s", p.Labels[0], strings.Join(p.OldOnly, ", "))
	}
	if len(p.NewOnly) > 0 {
		t.line("only in %s   %s", p.Labels[1], strings.Join(p.NewOnly, ", "))
	}
	names, places := 0, 0
	for _, i := range p.Idle {
		names = max(names, width(i.Element.Name))
		places = max(places, width(i.Element.Place.String()))
	}
	for _, i := range p.Idle {
		what := "alters no cell"
		if i.Undone {
			what = "alters no cell as printed"
		}
		t.line("no effect   %s   %s   %s (%s)", pad(i.Element.Name, names), pad(i.Element.Place.String(), places), what, i.Element.Why)
	}
}

// Worst is the worst cell of the worst map; nil where no cell differs, or the
// worst map can't be compared.
func (p *Pair) Worst() (*MapDiff, CellDiff) {
	maps := p.InOrder()
	if len(maps) == 0 || len(maps[0].Cells) == 0 {
		return nil, CellDiff{}
	}
	return maps[0], maps[0].Cells[maps[0].Summary.Worst]
}

// whyCommand asks for the chain of the worst cell; "" where there is none, or no
// source of the new side.
func (p *Pair) whyCommand(call string) string {
	m, c := p.Worst()
	if p.New.Program == nil || m == nil {
		return ""
	}
	return call + " why " + p.New.Name + " " + m.Map + " " + strings.Join(m.AtArgs(c), " ")
}

func (t *textWriter) mapDiff(p *Pair, m *MapDiff, name string) {
	head := m.Map
	if m.Unit != "" {
		head += " [" + m.Unit + "]"
	}
	if odd := m.Odd(); odd != "" {
		t.line("%s%s   %s", name, head, odd)
		return
	}
	t.line("%s%s   %s", name, head, m.SummaryText())
	for _, n := range m.Notes {
		t.labelled("note", "%s", n)
	}
	t.grid(m)
	t.worst(m)
	t.because(p, m)
}

// worst names the worst cell. It is the worst by amount; where the header tells
// of shares and another cell has a larger one, that cell gets a line of its own,
// and both lines say by which measure their cell is the worst.
func (t *textWriter) worst(m *MapDiff) {
	s := m.Summary
	c, other := m.Cells[s.Worst], m.Cells[s.WorstShare]
	if !s.HasShare || strings.TrimLeft(Percent(c.Share), "+-") == strings.TrimLeft(Percent(other.Share), "+-") {
		share := ""
		if c.HasShare {
			share = "   " + Percent(c.Share)
		}
		t.labelled("worst", "%s   %s%s", m.At(c), m.OldToNew(c), share)
		return
	}
	at, values := max(width(m.At(c)), width(m.At(other))), max(width(m.OldToNew(c)), width(m.OldToNew(other)))
	t.labelled("worst", "%s   %s   by amount: %s, %s", pad(m.At(c), at), pad(m.OldToNew(c), values), m.ChangeText(c.Change), Percent(c.Share))
	t.labelled("by share", "%s   %s   %s", pad(m.At(other), at), pad(m.OldToNew(other), values), Percent(other.Share))
}

// OldToNew is "3.000 → 3.870 ms".
func (m *MapDiff) OldToNew(c CellDiff) string {
	return m.ValueText(c.Old) + " → " + unit.With(m.ValueText(c.New), m.Unit)
}

// SummaryText is "7 of 144 cells, +0.9 % to +3.0 %, mean +1.8 %".
func (m *MapDiff) SummaryText() string {
	s := m.Summary
	out := fmt.Sprintf("%d of %s, ", len(m.Cells), counted(m.Total, "cell", "cells"))
	lo, hi, mean := m.ChangeText(s.Min), m.ChangeText(s.Max), m.mean(s.Mean)
	if s.HasShare {
		lo, hi, mean = Percent(s.MinShare), Percent(s.MaxShare), Percent(s.MeanShare)
	}
	switch {
	case len(m.Cells) == 1:
		return out + hi
	case lo == hi:
		return out + "each " + hi
	}
	if !s.HasShare {
		lo = signed(s.Min, m.decimals) // the unit is said once
	}
	return out + lo + " to " + hi + ", mean " + mean
}

// At names a cell's place.
func (m *MapDiff) At(c CellDiff) string {
	one := func(a Axis, i int) string {
		if a.Unit == a.Name {
			return a.Name + " " + grid.Exact(a.Points[i])
		}
		return unit.With(a.Name+" "+grid.Exact(a.Points[i]), a.Unit)
	}
	if m.Rows.Points == nil {
		return one(m.Cols, c.Col)
	}
	return one(m.Rows, c.Row) + ", " + one(m.Cols, c.Col)
}

func width(s string) int { return utf8.RuneCountInString(s) }

func pad(s string, n int) string { return s + strings.Repeat(" ", max(0, n-width(s))) }

func padLeft(s string, n int) string { return strings.Repeat(" ", max(0, n-width(s))) + s }
