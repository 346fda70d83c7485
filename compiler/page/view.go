package page

import (
	"fmt"
	"html/template"
	"slices"
	"strconv"
	"strings"

	"fettle/compiler/review"
)

// viewer puts a review in the words of the page.
type viewer struct {
	r     *review.Review
	all   []*review.Entry          // those whose tables the page holds: first those of the review, then those that the policy hides whole
	place map[*review.Entry]int    // by entry: its place there
	named map[string]*review.Entry // by name
	told  map[string]bool          // maps whose tables are printed
}

// view is what the page's templates are filled with.
type view struct {
	Title    string
	Verdict  string
	Lead     string
	Calm     bool // nothing to stop at, since no cell differs
	Sides    [2]side
	Alarms   []alarmSet
	Printed  template.HTML // tables of alarms that no group prints
	Counts   []count
	Hidden   string
	Cautions []string
	Notes    []string
	Groups   []group
	Folded   []group  // groups that aren't the worst
	Loose    []string // what no group holds
	Lone     []string // tunes that only one side has, or that have another name
	Limits   []limitRow
	Changes  []changeRow
	Sources  []sourceFile
	Left     []string // what was left out of the page's data
	Untold   string   // what there is too much of to be told here
	OneText  bool     // both sides are computed from one source
	Data     bool     // whether there is anything for the script to show
}

type side struct {
	Word, Title, Detail string
	Rows                []count
}

// count is a line of a list of facts.
type count struct{ Name, Value string }

type limitRow struct {
	Kind, Name, Text, Before, After, Where, Tunes, Place string
	Bad                                                  bool
}

func newView(r *review.Review) (*viewer, *view) {
	v := &viewer{r: r, all: entriesOf(r), place: map[*review.Entry]int{}, named: map[string]*review.Entry{}, told: map[string]bool{}}
	for i, e := range v.all {
		v.place[e], v.named[e.Name] = i, e
	}
	out := &view{Title: "Review: " + r.SidesText(), Sides: [2]side{sideOf("Before", r.Old), sideOf("After", r.New)}}
	var cut cuts
	out.Alarms = v.alarms(&cut)
	out.Verdict, out.Calm = v.verdict(), len(out.Alarms) == 0 && r.Counts.Differ == 0 && len(r.Entries) == 0
	out.Lead = lead(r)
	out.Counts = v.counts()
	if hidden := r.HiddenText(); hidden != "" {
		out.Hidden = sentence(hidden)
	}
	for _, c := range r.Cautions {
		out.Cautions = append(out.Cautions, clean(c))
	}
	for _, n := range r.Notes {
		out.Notes = append(out.Notes, clean(n))
	}
	out.Groups, out.Folded, out.Loose = v.groups(&cut)
	out.Printed = v.alarmTables(out.Alarms)
	out.Lone = capped(r.Lone(), mostRows, "tunes of one side", &cut)
	for _, m := range capped(r.Limits, mostRows, "limits and checks", &cut) {
		out.Limits = append(out.Limits, limitRowOf(m))
	}
	for _, c := range capped(r.Elements, mostRows, "changes in the source", &cut) {
		out.Changes = append(out.Changes, changeRowOf(c))
	}
	out.Sources = sourcesOf(r.Sources, &cut)
	out.Untold = cut.text()
	out.Data = len(v.all) > 0
	out.OneText = r.Old.Digest != "" && r.Old.Digest == r.New.Digest
	if r.Only != nil && r.Only.Pair.Labels == [2]string{"A", "B"} { // as what changed says them
		out.Sides[0].Word, out.Sides[1].Word = "Before (A)", "After (B)"
	}
	return v, out
}

// entriesOf are the tunes whose tables a page holds: those that the policy hides
// whole come last, and are shown when asked for.
func entriesOf(r *review.Review) []*review.Entry { return slices.Concat(r.Entries, r.Allowed) }

func sideOf(word string, o review.Origin) side {
	s := side{Word: word, Title: clean(o.Title)}
	add := func(name, value string) {
		if value != "" {
			s.Rows = append(s.Rows, count{name, clean(value)})
		}
	}
	add("what", o.Kind)
	add("asked for as", o.Operand)
	revision := o.Revision
	if revision != "" && o.Dirty {
		revision += ", with edits that aren't committed"
	}
	add("revision", revision)
	add("digest of the source", o.Digest)
	add("computed by", compilerText(o.Compiler))
	var detail []string
	if o.Digest != "" {
		detail = append(detail, "source "+short(clean(o.Digest), 12))
	}
	if o.Compiler != "" {
		detail = append(detail, compilerText(clean(o.Compiler)))
	}
	s.Detail = strings.Join(detail, ", ")
	return s
}

func compilerText(version string) string {
	if version == "" {
		return ""
	}
	return "fettle " + version
}

// verdict is the page's first sentence.
func (v *viewer) verdict() string {
	c := v.r.Counts
	change := fmt.Sprintf("%d of %s change", c.Differ, counted(c.Pairs, "tune"))
	if c.Pairs == 1 {
		change = fmt.Sprintf("%d of %s change", c.Cells, counted(c.Looked, "cell"))
	}
	if c.Beyond < c.Differ && c.Pairs > 1 {
		change += fmt.Sprintf(", %d beyond what is allowed", c.Beyond)
	}
	switch known := v.r.VerdictText(); {
	case c.Differ == 0:
		return upper(known)
	case v.r.Verdict == review.Changed || v.r.Verdict == review.TablesOnly:
		return upper(change)
	default:
		return upper(known) + ": " + change
	}
}

// lead says what there is to look at first.
func lead(r *review.Review) string {
	if list := r.ToLookAt(); len(list) > 0 {
		return sentence(enumerated(list))
	}
	if clear := r.AllClear(); clear != "" {
		return sentence(clear)
	}
	return ""
}

// sentence gives words a capital and an end.
func sentence(s string) string { return upper(s) + "." }

func upper(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

func (v *viewer) counts() []count {
	c := v.r.Counts
	var out []count
	add := func(name string, n int) {
		if n > 0 {
			out = append(out, count{name, strconv.Itoa(n)})
		}
	}
	add("tunes compared", c.Pairs)
	add("change", c.Differ)
	if c.Beyond < c.Differ {
		out = append(out, count{"change beyond what is allowed", strconv.Itoa(c.Beyond)})
	}
	add("stay the same", c.Same)
	add("have another name", c.Renamed)
	add("only before", c.OldOnly)
	add("only after", c.NewOnly)
	if c.Failed[0]+c.Failed[1] > 0 {
		out = append(out, count{"can't be written, before", strconv.Itoa(c.Failed[0])}, count{"can't be written, after", strconv.Itoa(c.Failed[1])})
	}
	if c.Looked > 0 {
		out = append(out, count{"cells that change", fmt.Sprintf("%d of %d", c.Cells, c.Looked)})
	}
	return out
}

func limitRowOf(m *review.Margin) limitRow {
	var row limitRow
	row.Kind, row.Name, row.Before, row.After, row.Where, row.Tunes, row.Place = m.Row()
	switch {
	case m.Text[0] == m.Text[1] || m.Text[0] == "":
		row.Text = clean(m.Text[1])
	case m.Text[1] == "":
		row.Text = clean(m.Text[0])
	default:
		row.Text = clean(m.Text[0]) + " → " + clean(m.Text[1])
	}
	switch m.Kind {
	case review.NewlyFails, review.Loosened, review.GoneLimit, review.Lapsed, review.Reworded:
		row.Bad = true
	}
	return row
}
