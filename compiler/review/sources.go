package review

import (
	"slices"
	"sort"

	"fettle/compiler/check"
	"fettle/compiler/diff"
	"fettle/compiler/resolve"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// The states of a source file.
const (
	FileChanged = "changed"
	FileAdded   = "added"
	FileRemoved = "removed"
	FileRenamed = "renamed" // the same text under another name
)

// sources compares the texts of both sides, file by file, and says of each hunk
// which of the changes that move cells stand in it.
func (r *Review) sources(old, new *Side) {
	if old.Program == nil || new.Program == nil || old.Program == new.Program {
		return
	}
	a, b := textsOf(old.Program), textsOf(new.Program)
	var names []string
	gone := map[string][]string{} // names by text
	for name, text := range a {
		if _, ok := b[name]; !ok {
			gone[text] = append(gone[text], name)
		}
		names = append(names, name)
	}
	for name := range b {
		if _, ok := a[name]; !ok {
			names = append(names, name)
		}
	}
	sort.Strings(names)
	for _, list := range gone {
		sort.Strings(list)
	}
	by := r.placed(old.Program, new.Program)
	renamed := map[string]bool{}
	for _, name := range names { // first, so that the old name isn't told as removed
		if _, was := a[name]; was {
			continue
		}
		if list := gone[b[name]]; len(list) > 0 {
			gone[b[name]] = list[1:]
			renamed[name], renamed[list[0]] = true, true
			r.Sources = append(r.Sources, &SourceDiff{Name: name, OldName: list[0], State: FileRenamed})
		}
	}
	for _, name := range names {
		x, was := a[name]
		y, is := b[name]
		if x == y && was == is || renamed[name] {
			continue
		}
		d := &SourceDiff{Name: name, State: FileChanged}
		switch {
		case !was:
			d.State = FileAdded
		case !is:
			d.State = FileRemoved
		}
		for _, h := range diff.Hunks(x, y) {
			d.Hunks = append(d.Hunks, Hunk{Head: h.Head, Lines: h.Lines, Old: h.Old, New: h.New, By: by.of(name, h)})
		}
		r.Sources = append(r.Sources, d)
	}
	sort.SliceStable(r.Sources, func(i, j int) bool { return r.Sources[i].Name < r.Sources[j].Name })
}

// textsOf are the texts that a program depends on, by name.
func textsOf(p *check.Program) map[string]string {
	out := map[string]string{}
	for _, f := range p.Resolved.Files {
		out[f.Source.Name] = f.Source.Text
	}
	for name, f := range p.Resolved.CSVs {
		out[name] = f.Text
	}
	for _, m := range p.Resolved.Modules {
		for _, d := range m.Table {
			f := d.Header().Span.File
			out[f.Name] = f.Text
		}
	}
	return out
}

// causes are the changes that move cells, with the lines that they stand on.
type causes []cause

type cause struct {
	name  string
	lines [2][]lines // by side
}

// lines are some lines of a file, from 1.
type lines struct {
	file     string
	from, to int
}

func (r *Review) placed(old, new *check.Program) causes {
	var out causes
	for _, c := range r.Elements {
		if c.Tunes == 0 {
			continue
		}
		one := cause{name: c.Name}
		for side, p := range []*check.Program{old, new} {
			for _, e := range c.Elements {
				for _, l := range linesOf(p, e, side) {
					if !slices.Contains(one.lines[side], l) {
						one.lines[side] = append(one.lines[side], l)
					}
				}
			}
		}
		out = append(out, one)
	}
	return out
}

// linesOf is where an element is written on a side: its declaration, with the
// CSV file that this names; of a row of a catalogue, a trim or a setting, its
// own lines alone.
func linesOf(p *check.Program, e *diff.Element, side int) []lines {
	var out []lines
	for _, m := range e.Members {
		out = append(out, linesOf(p, m, side)...)
	}
	at := placesOf(e)[side]
	if at.IsZero() || len(e.Members) > 0 {
		return out
	}
	if e.Kind == diff.KindRow || e.Kind == diff.KindTrim || e.Kind == diff.KindGiven {
		out = append(out, linesIn(at))
		for _, m := range p.Maps { // the trims of a variant are one element
			if one := e.PlaceIn(m.Name); one.File == at.File && one != at {
				out = append(out, linesIn(one))
			}
		}
		return out
	}
	for _, d := range p.Resolved.Decls {
		head := d.Header()
		csv := csvOf(p, d)
		within := head.Span.File == at.File && head.Span.From <= at.From && at.From < head.Span.To
		if !within && (csv == nil || csv != at.File) {
			continue
		}
		out = append(out, linesIn(head.Span))
		if csv != nil {
			out = append(out, lines{csv.Name, 1, csv.LineCount()})
		}
	}
	return out
}

func linesIn(s source.Span) lines {
	last := source.Span{File: s.File, From: max(s.From, s.To-1), To: s.To}
	return lines{s.File.Name, s.Line(), last.Line()}
}

// csvOf is the CSV file that a declaration reads; nil without one.
func csvOf(p *check.Program, d syntax.Decl) *source.File {
	var file *syntax.Text
	switch d := d.(type) {
	case *syntax.Map:
		file = d.File
	case *syntax.Catalog:
		file = d.File
	}
	if file == nil {
		return nil
	}
	return p.Resolved.CSVs[resolve.FileName(file.Span.File, file.Value)]
}

// of names the changes that stand on the changed lines of a hunk.
func (cs causes) of(file string, h diff.Hunk) []string {
	at := [2]int{h.Old[0], h.New[0]}
	var changed [2][]int
	for _, l := range h.Lines {
		switch l[0] {
		case '-':
			changed[0] = append(changed[0], at[0])
			at[0]++
		case '+':
			changed[1] = append(changed[1], at[1])
			at[1]++
		case ' ':
			at[0]++
			at[1]++
		}
	}
	var out []string
	for _, c := range cs {
		if c.on(file, changed) && !slices.Contains(out, c.name) {
			out = append(out, c.name)
		}
	}
	return out
}

// on says whether a change stands on one of some lines.
func (c *cause) on(file string, changed [2][]int) bool {
	for side, list := range changed {
		for _, l := range c.lines[side] {
			for _, n := range list {
				if l.file == file && l.from <= n && n <= l.to {
					return true
				}
			}
		}
	}
	return false
}
