package review

import (
	"fmt"
	"regexp"
	"strings"
	"testing"
	"unicode"

	"pgregory.net/rapid"

	"fettle/compiler/diff"
	"fettle/lang/source"
)

// mark stands in every name that came from elsewhere, to find it again.
const mark = "zqzq"

// hostile is the sample with a text in every name, title and text of it.
func hostile(text string) *Review {
	r := sample()
	bad := func(s *string) { *s = mark + text + mark }
	file := source.New(mark+strings.ReplaceAll(text, "\n", "")+mark, "a\nb\nc\nd\n")
	at := source.Span{File: file, From: 2, To: 3}
	for _, o := range []*Origin{&r.Old, &r.New} {
		bad(&o.Title)
		bad(&o.Operand)
		bad(&o.Compiler)
	}
	elements := map[*diff.Element]*diff.Element{}
	renamed := func(e *diff.Element) *diff.Element {
		if elements[e] == nil {
			c := *e
			bad(&c.Name)
			bad(&c.Why)
			c.Place, c.Places = at, [2]source.Span{at, at}
			elements[e] = &c
		}
		return elements[e]
	}
	for _, e := range r.Entries {
		bad(&e.Name)
		bad(&e.Pair.Old.Name)
		bad(&e.Pair.New.Name)
		e.Pair.Conditions = []diff.ConditionDiff{{Name: mark + text, Old: text + mark, New: mark}}
		e.Pair.OldOnly = []string{mark + text}
		for _, m := range e.Pair.Maps {
			bad(&m.Map)
			bad(&m.Unit)
			bad(&m.ChangeUnit)
			bad(&m.Rows.Name)
			bad(&m.Cols.Name)
			bad(&m.Cols.Unit)
			m.Notes = []string{mark + text}
			m.Clamps = []diff.Clamping{{Limit: mark + text, Place: at, In: diff.InBoth}}
			for _, p := range m.Parts {
				p.Element = renamed(p.Element)
			}
		}
		for _, m := range e.Maps {
			for i, x := range m.By {
				m.By[i] = renamed(x)
			}
		}
	}
	for _, g := range r.Groups {
		for _, m := range g.Maps {
			bad(&m.Map)
			bad(&m.Unit)
			bad(&m.ChangeUnit)
			for i, x := range m.By {
				m.By[i] = renamed(x)
			}
		}
	}
	for _, m := range r.Limits {
		bad(&m.Name)
		bad(&m.Text[0])
		bad(&m.Text[1])
		bad(&m.Tune)
		bad(&m.By)
		m.Place, m.ByAt = [2]source.Span{at, at}, at
		for _, s := range []*State{m.Before, m.After, m.AsItWas} {
			if s != nil {
				bad(&s.At)
				bad(&s.Unit)
				s.AtArgs = []string{text}
			}
		}
	}
	fault := *r.Limits[0]
	fault.Fault, fault.After = true, &State{Word: "can't be computed", Problem: mark + text}
	r.Limits = append(r.Limits, &fault)
	for _, s := range r.Spikes {
		bad(&s.Map)
		bad(&s.Unit)
		bad(&s.At)
		bad(&s.Tune)
		s.AtArgs, s.Also, s.By = []string{text}, []string{mark + text}, renamed(s.By)
	}
	for _, c := range r.Elements {
		bad(&c.Name)
		bad(&c.Why)
		c.Places, c.Element = [2]source.Span{at, at}, renamed(c.Element)
	}
	for i := range r.NewOnly {
		bad(&r.NewOnly[i].Name)
	}
	conditions := []diff.Condition{{Name: mark + text, Value: mark + text}}
	for i := range 2 { // as examined tunes: one beside another, one beside none
		a := &Added{Name: mark + text, Conditions: conditions}
		if i == 0 {
			a.Beside, a.But, a.Entry = mark+text, []diff.ConditionDiff{{Name: mark + text, Old: text, New: mark + text}}, r.Entries[0]
		}
		r.NewOnly = append(r.NewOnly, diff.Lone{Name: a.Name + strings.Repeat("x", i), Why: mark + text})
		a.Name = r.NewOnly[len(r.NewOnly)-1].Name
		r.Added = append(r.Added, a)
	}
	r.OldOnly[0].Conditions = conditions
	patch := *r.Spikes[0]
	patch.Cells, patch.Least = 4, patch.Change/2
	r.Spikes = append([]*Spike{&patch}, r.Spikes...)
	r.Edited = append(r.Edited, Edited{File: mark + text, Tune: mark + text})
	r.Entries[0].Beside = mark + text
	bad(&r.OldOnly[0].Name)
	bad(&r.OldOnly[0].Why)
	bad(&r.Renamed[0].Old)
	bad(&r.Renamed[0].New)
	for _, f := range r.Sources {
		bad(&f.Name)
		bad(&f.OldName)
		for i := range f.Hunks {
			bad(&f.Hunks[i].Head)
			f.Hunks[i].Lines = []string{" " + mark + text, "-" + mark + text, "+" + mark + text}
			if f.Hunks[i].By != nil {
				f.Hunks[i].By = []string{mark + text + mark}
			}
		}
	}
	bad(&r.Hidden.From)
	r.Hidden.Policy = []string{mark + text}
	r.Notes = []string{"a note on " + mark + text + mark}
	r.Cautions = []string{"a caution of " + mark + text + mark}
	return r
}

// nasty are texts that mean something to a terminal, to Markdown, or to HTML.
var nasty = []string{"`", "``", "```", "|", `\`, `\|`, "<", ">", "</code>", "</details>", "</summary>", "<script>", "<!--", "-->", "&lt;", "&#64;", "@someone", "#12", "GH-12",
	"https://a.example", "www.a.example", "a@b.example", "[x](y)", "![x](y)", "*", "**", "_", "~~", "~~~", "# ", "- ", "1. ", "> ", "\n", "\n\n", "\r", "\t", "\x1b[31m", "\x1b]0;x\x07", "\u202e", "\u200b", "\u2028",
	"\x00", "\xff", "%s", " ", "  ", ":tada:", "é", "漢", "$x$", "{{", "---", "|---|", "'", `"`, ";"}

func drawNasty(t *rapid.T) string {
	return strings.Join(rapid.SliceOfN(rapid.SampledFrom(nasty), 1, 6).Draw(t, "text"), rapid.SampledFrom([]string{"", " ", "x"}).Draw(t, "between"))
}

// Nothing of a source or a file reaches a terminal as more than text.
func TestTextIsHarmless(t *testing.T) {
	colors := regexp.MustCompile("\x1b\\[([0-9]+;)*[0-9]+m")
	rapid.Check(t, func(t *rapid.T) {
		r := hostile(drawNasty(t))
		for _, color := range []bool{false, true} {
			var b strings.Builder
			opt := TextOptions{TextOptions: diff.TextOptions{Width: 100, Color: color}, Source: true}
			if err := r.Text(&b, opt); err != nil {
				t.Fatal(err)
			}
			text := b.String()
			if color {
				text = colors.ReplaceAllStringFunc(text, func(s string) string {
					if s == "\x1b[31m" {
						return s // none of ours
					}
					return ""
				})
			}
			for _, c := range text {
				if c != '\n' && !unicode.IsPrint(c) {
					t.Fatalf("%q reaches the terminal:\n%s", c, text)
				}
			}
		}
	})
}

// Nothing of a source or a file is markup in Markdown: it stands in code alone,
// but for plain words of notes and cautions; tables keep their columns, and what
// is opened is closed.
func TestMarkdownIsHarmless(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var b strings.Builder
		if err := hostile(drawNasty(t)).Markdown(&b, MarkdownOptions{Source: true}); err != nil {
			t.Fatal(err)
		}
		if fault := faultOf(b.String()); fault != "" {
			t.Fatalf("%s\n%s", fault, b.String())
		}
	})
}

// faultOf reads what we write of Markdown as CommonMark has it, with tables, and
// says what isn't as it should be.
func faultOf(text string) string {
	fence, details, columns := "", 0, 0
	for _, line := range strings.Split(text, "\n") {
		switch {
		case fence != "":
			if t := strings.TrimRight(line, " "); strings.Trim(t, "`") == "" && len(t) >= len(fence) {
				fence = ""
			}
			continue
		case strings.HasPrefix(line, "```"):
			fence = line[:longestRun(line)]
			if rest := line[len(fence):]; rest != "sh" && rest != "diff" {
				return "a fence with more behind it: " + line
			}
			continue
		case strings.HasPrefix(line, "<details><summary>"):
			details++
			inner, ok := strings.CutSuffix(strings.TrimPrefix(line, "<details><summary>"), "</summary>")
			if rest := regexp.MustCompile("<code>[^<>`@]*</code>").ReplaceAllString(inner, ""); !ok || strings.ContainsAny(rest, "<>`@") || strings.Contains(rest, mark) {
				return "a summary with markup: " + line
			}
			continue
		case line == "</details>":
			if details--; details < 0 {
				return "a closing tag too many"
			}
			continue
		}
		cells := []string{line}
		if strings.HasPrefix(line, "|") {
			cells = rowCells(line)
			if columns == 0 {
				columns = len(cells)
			}
			if len(cells) != columns {
				return fmt.Sprintf("%d cells in a table of %d: %s", len(cells), columns, line)
			}
		} else {
			columns = 0
		}
		for _, c := range cells {
			rest, ok := outsideCode(c)
			switch prose := strings.HasPrefix(line, "> "); {
			case !ok:
				return "a code span that isn't closed: " + line
			case strings.Contains(rest, mark) && (!prose || meaning.MatchString(rest)):
				return "a name outside of code: " + line
			case strings.ContainsAny(rest, "<[@"):
				return "markup: " + line
			}
		}
	}
	if fence != "" || details != 0 {
		return "something isn't closed"
	}
	return ""
}

// meaning is what a plain word of a note mustn't hold.
var meaning = regexp.MustCompile("[@#<|/`\\[\\\\]|:[^ ]|[^ ][.][^ ]|-[0-9]")

// rowCells parts a row at the pipes that aren't escaped, and takes the escapes
// away.
func rowCells(line string) []string {
	var out []string
	var cell strings.Builder
	for i := 1; i < len(line); i++ {
		switch {
		case line[i] == '\\' && i+1 < len(line) && line[i+1] == '|':
			cell.WriteByte('|')
			i++
		case line[i] == '|':
			out = append(out, cell.String())
			cell.Reset()
		default:
			cell.WriteByte(line[i])
		}
	}
	return out
}

// outsideCode takes code spans and escaped signs out of a line; false if a
// backtick is left that opens nothing.
func outsideCode(s string) (string, bool) {
	var out strings.Builder
	for i := 0; i < len(s); i++ {
		switch {
		case s[i] == '\\' && i+1 < len(s) && strings.IndexByte("\\`*_{}[]<>#~|&!@", s[i+1]) >= 0:
			i++
		case s[i] == '`':
			n := 0
			for i+n < len(s) && s[i+n] == '`' {
				n++
			}
			end := closing(s[i+n:], n)
			if end < 0 {
				return "", false
			}
			i += n + end + n - 1
		default:
			out.WriteByte(s[i])
		}
	}
	return out.String(), true
}

// closing finds the run of so many backticks that closes a span.
func closing(s string, n int) int {
	for i := 0; i < len(s); i++ {
		k := 0
		for i+k < len(s) && s[i+k] == '`' {
			k++
		}
		if k == n {
			return i
		}
		i += max(0, k-1)
	}
	return -1
}

// The reader above finds what it is to find.
func TestFaultsAreFound(t *testing.T) {
	for _, bad := range []string{"a " + mark, "`a", "| a | b |\n| --- | --- |\n| `a|b` | c |", "<details><summary>a</summary>", "</details>", "```sh\na", "<b>", "[a](b)", "> see @" + mark,
		"<details><summary><b>a</b></summary>\n</details>", "```` a\n```"} {
		if faultOf(bad) == "" {
			t.Errorf("%q passes", bad)
		}
	}
	if fault := faultOf("| `a\\|b` | `` c`d `` |\n| --- | --- |\n| \\<x\\> | y |"); fault != "" {
		t.Error(fault)
	}
}
