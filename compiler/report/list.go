package report

import (
	"fmt"
	"io"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"
	"github.com/jedib0t/go-pretty/v6/text"

	"fettle/compiler/check"
	"fettle/compiler/plan"
)

// List is the tunes of a workspace.
type List struct {
	Schema string    `json:"schema"`
	Tunes  []Listed  `json:"tunes"`
	Out    []LeftOut `json:"left_out"`
	Files  []string  `json:"files"` // what each tune writes
	// The tables of each target, and what its controller compensates.
	Targets []ListedTarget `json:"targets,omitempty"`
	Bundles []ListedBundle `json:"bundles,omitempty"`
	Said    []string       `json:"cautions"`
	all     bool
	givens  []*check.Given
	total   int
}

// Listed is one tune.
type Listed struct {
	Name       string      `json:"name"`
	From       string      `json:"from,omitempty"`
	Conditions []Condition `json:"conditions"`
	Trims      int         `json:"trims"`
	Doc        string      `json:"doc,omitempty"`
	Place      string      `json:"place"`
}

// ListedTarget is a target with its tables.
type ListedTarget struct {
	Name        string   `json:"name"`
	Compensates []string `json:"compensates"`
	LeftOut     []string `json:"left_out"`
	Stays       []string `json:"stays"`
	Tables      []string `json:"tables"`
	Doc         string   `json:"doc,omitempty"`
	Place       string   `json:"place"`
}

// Condition is a given's value in a tune.
type Condition struct {
	Name string `json:"name"`
	Text string `json:"text"`
	Set  bool   `json:"set"` // by the variant; else it is the default
}

// LeftOut is a combination that a matrix leaves out.
type LeftOut struct {
	Name   string `json:"name"`
	Except string `json:"except"`
	Place  string `json:"place"`
}

// NewList lists tunes; all adds the combinations left out.
func NewList(p *plan.Plan, tunes []*plan.Tune, all bool) *List {
	l := &List{Schema: "fettle/list/1", Tunes: []Listed{}, Out: []LeftOut{}, all: all, givens: p.Program.Givens, total: len(p.Excluded), Said: notNil(p.Program.Cautions)}
	for _, m := range p.Program.Maps {
		l.Files = append(l.Files, m.Name+".csv")
	}
	l.Files = append(l.Files, "tune.json")
	for _, t := range p.Program.Targets {
		s := newTarget(p.Program, t)
		l.Targets = append(l.Targets, ListedTarget{t.Name, s.Compensates, s.LeftOut, s.Stays, namesOf(t.Tables, func(x *check.TargetTable) string { return x.Name }), t.Doc, t.Span.String()})
	}
	l.Bundles = listBundles(p)
	for _, t := range tunes {
		item := Listed{Name: t.Name, From: t.From, Trims: len(t.Trims), Place: t.Variant.Span.String(), Doc: t.Variant.Doc}
		for i, g := range p.Program.Givens {
			item.Conditions = append(item.Conditions, Condition{g.Name, plan.Text(g, t.Values[i]), t.Set[i]})
		}
		l.Tunes = append(l.Tunes, item)
	}
	if all {
		for _, e := range p.Excluded {
			l.Out = append(l.Out, LeftOut{e.Name, e.Clause.Text, e.Clause.Span.String()})
		}
	}
	return l
}

// Text prints the list.
func (l *List) Text(w io.Writer, opt Options) {
	tw := newWriter()
	head := table.Row{"tune"}
	for _, g := range l.givens {
		head = append(head, g.Name)
	}
	tw.AppendHeader(append(head, ""))
	for _, t := range l.Tunes {
		row := table.Row{t.Name}
		for _, c := range t.Conditions {
			s := c.Text
			if !c.Set {
				s = "(" + s + ")"
			}
			row = append(row, s)
		}
		note := ""
		if t.From != "" {
			note = "from " + t.From
		}
		if t.Trims > 0 {
			note = strings.TrimPrefix(note+", "+Count(t.Trims, "trim"), ", ")
		}
		tw.AppendRow(append(row, note))
	}
	render(tw, w)
	fmt.Fprintf(w, "\n%s; a value in brackets is the default. Each tune writes %s.\n", Count(len(l.Tunes), "tune"), strings.Join(l.Files, ", "))
	for _, t := range l.Targets {
		fmt.Fprintf(w, "For target %s each writes %s.csv in its folder %s%s.\n", t.Name, strings.Join(t.Tables, ".csv, "), t.Name, leftTo(TargetSummary{Compensates: t.Compensates, LeftOut: t.LeftOut, Stays: t.Stays}))
	}
	l.bundles(w)
	if !l.all {
		if l.total > 0 {
			fmt.Fprintf(w, "%s left out by `except`: `fettle list --all` names them.\n", Count(l.total, "combination"))
		}
		return
	}
	if len(l.Out) == 0 {
		fmt.Fprintln(w, "No combination is left out.")
		return
	}
	fmt.Fprintf(w, "\nleft out\n")
	tw = newWriter()
	for _, o := range l.Out {
		tw.AppendRow(table.Row{o.Name, "except " + o.Except, o.Place})
	}
	render(tw, w)
}

// Count says a number of things: "1 tune", "12 tunes".
func Count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

func newWriter() table.Writer {
	text.OverrideRuneWidthEastAsianWidth(false) // it would ask the locale how wide a × is
	tw := table.NewWriter()
	style := table.StyleDefault
	style.Options = table.OptionsNoBordersAndSeparators
	style.Box.PaddingLeft, style.Box.PaddingRight = "", "  "
	style.Format.Header = text.FormatDefault
	tw.SetStyle(style)
	tw.SuppressTrailingSpaces()
	return tw
}

func render(tw table.Writer, w io.Writer) {
	for _, line := range strings.Split(tw.Render(), "\n") {
		fmt.Fprintln(w, strings.TrimRight("  "+line, " "))
	}
}
