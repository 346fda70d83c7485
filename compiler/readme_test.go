package compiler_test

import (
	"fmt"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"fettle/compiler"
	"fettle/compiler/check"
	"fettle/compiler/grid"
	"fettle/compiler/limit"
	"fettle/compiler/plan"
	"fettle/lang/diag"
	"fettle/lang/formula"
	"fettle/lang/source"
	"fettle/lang/syntax"
	"fettle/lang/unit"
	"fettle/lang/work"
	"fettle/stdlib"
)

// The language reference is held to the compiler: its examples compile and
// their checks hold, its faulty examples give the code that stands after them,
// and its tables are made from the tables of the code.

const readme = "../lang/README.md"

// block is a fenced block of the reference.
type block struct {
	lang, info string
	text       string
	line       int
	after      string // the first line after it that isn't blank
}

func (b block) name() string {
	return fmt.Sprintf("line %d %s %s", b.line, b.lang, b.info)
}

func readmeBlocks(t *testing.T) (blocks []block, text string) {
	t.Helper()
	raw, err := os.ReadFile(readme)
	if err != nil {
		t.Fatal(err)
	}
	text = string(raw)
	lines := strings.Split(text, "\n")
	for i := 0; i < len(lines); i++ {
		head, ok := strings.CutPrefix(lines[i], "```")
		if !ok {
			continue
		}
		b := block{line: i + 1}
		b.lang, b.info, _ = strings.Cut(head, " ")
		for i++; i < len(lines) && lines[i] != "```"; i++ {
			b.text += lines[i] + "\n"
		}
		for j := i + 1; j < len(lines) && b.after == ""; j++ {
			b.after = strings.TrimSpace(lines[j])
		}
		blocks = append(blocks, b)
	}
	return blocks, text
}

// readmeFiles are the files that the examples name, and the ground that the
// fragments stand on.
func readmeFiles(t *testing.T, blocks []block) (files fstest.MapFS, prelude string) {
	t.Helper()
	files = fstest.MapFS{}
	for _, b := range blocks {
		switch name, isFile := strings.CutPrefix(b.info, "file "); {
		case b.lang == "csv":
			files[b.info] = &fstest.MapFile{Data: []byte(b.text)}
		case b.lang == "fettle" && isFile:
			files[name] = &fstest.MapFile{Data: []byte(b.text)}
		case b.lang == "fettle" && b.info == "prelude":
			prelude = b.text
		}
	}
	if prelude == "" {
		t.Fatal("the reference has no prelude")
	}
	return files, prelude
}

func TestReadmeExamples(t *testing.T) {
	blocks, _ := readmeBlocks(t)
	files, prelude := readmeFiles(t, blocks)
	seen := map[string]int{}
	for _, b := range blocks {
		if b.lang != "fettle" || strings.HasPrefix(b.info, "file ") {
			continue
		}
		seen[b.info]++
		main := b.text
		if b.info != "" && b.info != "prelude" {
			main = prelude + "\n" + b.text
		}
		ws := fstest.MapFS{}
		for name, f := range files {
			if strings.Contains(main, `"`+name+`"`) || !strings.HasSuffix(name, ".fettle") {
				ws[name] = f // a source that isn't used would be warned of
			}
		}
		ws[source.MainName] = &fstest.MapFile{Data: []byte(main)}
		w := compiler.Open(ws)
		t.Run(b.name(), func(t *testing.T) {
			switch b.info {
			case "", "prelude", "fragment":
				compiles(t, w)
				holds(t, w)
			case "fragment fails":
				compiles(t, w)
				fails(t, w, firstCode(b.after))
			case "wrong":
				isWrong(t, w, firstCode(b.after))
			default:
				t.Errorf("unknown info word %q", b.info)
			}
		})
	}
	for _, info := range []string{"", "prelude", "fragment", "fragment fails", "wrong"} {
		if seen[info] == 0 {
			t.Errorf("the reference has no block marked %q", info)
		}
	}
}

// firstCode is the text of a line's leading code span.
func firstCode(line string) string {
	parts := strings.SplitN(line, "`", 3)
	if len(parts) < 3 || parts[0] != "" {
		return ""
	}
	return parts[1]
}

// compiles wants neither errors nor warnings, but for values that nothing uses.
func compiles(t *testing.T, w *compiler.Workspace) {
	t.Helper()
	for _, d := range w.Diags.Sorted() {
		if d.Code != "W001" {
			t.Errorf("%s %v: %s", d.Code, d.Span, d.Message)
		}
	}
	if t.Failed() {
		t.FailNow()
	}
}

// holds wants every tune to pass its limits and checks.
func holds(t *testing.T, w *compiler.Workspace) {
	t.Helper()
	for _, tune := range w.Plan.Tunes {
		o := w.Tune(tune, compiler.RunOptions{Targets: w.Program.Targets})
		if f := o.Result.Fault; f != nil {
			t.Errorf("%s: map %s: %s", tune.Name, f.Map.Name, f.Reason)
		}
		for _, v := range o.Limits {
			if v.State == limit.Fails || v.State == limit.Warns {
				t.Errorf("%s: limit %s %v", tune.Name, v.Limit.Name, v.State)
			}
		}
		for _, on := range o.Targets {
			if on.Fails() {
				t.Errorf("%s fails for target %s", tune.Name, on.Target.Name)
			}
		}
		for _, c := range o.Checks {
			if !c.OK {
				t.Errorf("%s: check %q: %s: it is %.7g %s", tune.Name, c.Check.Title, c.Expect.Text, c.Got, c.Problem)
			}
		}
	}
	for _, b := range bundles(w) {
		if b.Fails() {
			t.Errorf("bundle %s fails: %s", b.Bundle.Spec.Name, b.Reasons(w.Program))
		}
	}
}

// bundles judges the bundles of a workspace.
func bundles(w *compiler.Workspace) []*compiler.Bundle {
	return w.Bundles(w.Plan.Tunes, nil, compiler.RunOptions{Targets: w.Program.Targets})
}

// fails wants a tune to fail by the limit, the map or the target's table of this
// name, or a bundle by such a table.
func fails(t *testing.T, w *compiler.Workspace, name string) {
	t.Helper()
	for _, tune := range w.Plan.Tunes {
		o := w.Tune(tune, compiler.RunOptions{Targets: w.Program.Targets})
		if f := o.Result.Fault; f != nil && f.Map.Name == name {
			return
		}
		for _, v := range o.Limits {
			if v.State == limit.Fails && v.Limit.Name == name {
				return
			}
		}
		for _, on := range o.Targets {
			for _, table := range on.Tables {
				if table.Misfit != nil && table.Name == name {
					return
				}
			}
		}
	}
	for _, b := range bundles(w) {
		for _, j := range b.Jumps {
			if j.Past > 0 && j.Table == name {
				return
			}
		}
	}
	t.Errorf("no tune fails by `%s`", name)
}

func isWrong(t *testing.T, w *compiler.Workspace, code string) {
	t.Helper()
	found := false
	for _, d := range w.Diags.Sorted() {
		switch {
		case d.Severity != diag.Error:
		case d.Code == code:
			found = true
		default:
			t.Errorf("%s %v: %s", d.Code, d.Span, d.Message)
		}
	}
	if !found {
		t.Errorf("the example doesn't give %q", code)
	}
}

// TestReadmeTables regenerates what stands between the markers of a generated
// section.
func TestReadmeTables(t *testing.T) {
	_, text := readmeBlocks(t)
	out := text
	for _, s := range []struct {
		name string
		make func(*testing.T) string
	}{{"units", unitsTable}, {"functions", functionsTable}, {"sizes", sizesTable}, {"stdlib", stdlibTable}} {
		const end = "<!-- end -->"
		mark := "<!-- generated: " + s.name + " -->\n"
		before, rest, ok := strings.Cut(out, mark)
		_, after, closed := strings.Cut(rest, end)
		if !ok || !closed {
			t.Fatalf("the reference has no section %q", s.name)
		}
		out = before + mark + s.make(t) + end + after
	}
	if out == text {
		return
	}
	if !*update {
		t.Fatal("the tables of lang/README.md are out of date: run go test ./compiler -run Readme -update")
	}
	if err := os.WriteFile(readme, []byte(out), 0o644); err != nil {
		t.Fatal(err)
	}
}

func unitsTable(*testing.T) string {
	var b strings.Builder
	b.WriteString("| quantity | unit | is | source |\n| --- | --- | --- | --- |\n")
	last := ""
	for _, u := range unit.Table() {
		quantity := u.Quantity
		if quantity == last {
			quantity = ""
		}
		last = u.Quantity
		fmt.Fprintf(&b, "| %s | `%s` | %s | %s |\n", quantity, u.Name, u.Definition, u.Source)
	}
	return b.String()
}

// functionNotes says what the language's own functions do.
var functionNotes = map[string]string{
	"min":   "the least of 2 to 64 values of one kind, in the unit of the first",
	"max":   "the greatest of 2 to 64 values of one kind, in the unit of the first",
	"clamp": "x, but no less than low and no more than high; high wins if they contradict",
	"abs":   "the size of x, without its sign",
	"sqrt":  "the square root; the dimension is halved: of a value in m^2, in m",
	"exp":   "e to the x; x is a plain number or a ratio, as for `log`, `round`, `floor` and `ceil`",
	"log":   "the natural logarithm",
	"round": "the nearest whole number; a half goes to the even one",
	"floor": "the nearest whole number that isn't greater",
	"ceil":  "the nearest whole number that isn't less",
	"step":  "the size of the jump to the next cell along an axis: see [Look-ups](#look-ups)",
}

func functionsTable(t *testing.T) string {
	forms := map[string]string{}
	for _, form := range formula.Builtins() {
		name, _, _ := strings.Cut(form, "(")
		if functionNotes[name] == "" {
			t.Errorf("function %s has no note", name)
		}
		forms[name] = form
	}
	var b strings.Builder
	b.WriteString("| function | what it gives |\n| --- | --- |\n")
	for _, name := range []string{"min", "max", "clamp", "abs", "sqrt", "exp", "log", "round", "floor", "ceil", "step"} {
		if forms[name] == "" {
			t.Errorf("%s is no function", name)
		}
		fmt.Fprintf(&b, "| `%s` | %s |\n", forms[name], functionNotes[name])
		delete(forms, name)
	}
	for name := range forms {
		t.Errorf("function %s isn't in the table", name)
	}
	return b.String()
}

// The bounds that package formula keeps to itself; TestReadmeSizes holds them.
const (
	exprWords = 5000
	exprDepth = 100
)

func sizesTable(*testing.T) string {
	var b strings.Builder
	b.WriteString("| what | the most |\n| --- | --- |\n")
	for _, r := range []struct {
		what string
		most any
	}{
		{"a file, source or CSV", fmt.Sprintf("%d MiB", source.MaxFile>>20)},
		{"files of a workspace; deep in one another", "1000; 100"},
		{"bytes of the texts of a workspace together", "64 MiB"},
		{"bytes of a line; letters of a name; of a text in quotes", "1 MiB; 200; 10000"},
		{"values, functions or variants that need each other in a row", 1000},
		{"words and signs of the sources together *", work.Words},
		{"steps of all expressions, their functions written out *", work.Steps},
		{"cells of a map *; of all maps together *", fmt.Sprintf("%d; %d", check.MaxCells, work.Maps)},
		{"steps that tell combinations and patterns apart *", work.Compare},
		{"cells of the tables of all tunes that a command computes *", work.Tables},
		{"steps of their formulas and rules, a cell each *", work.Computing},
		{"breakpoints along an axis of a target's table; places that `auto` chooses from", fmt.Sprintf("%d; %d", check.MaxPoints, check.MaxPlaces)},
		{"cells of a CSV file, heads and all", grid.MaxCells},
		{"combinations that the variants of a workspace span *", plan.MaxTunes},
		{"words and signs in one expression", exprWords},
		{"parentheses within one another", exprDepth},
		{"steps of one expression, its functions written out", 200_000},
		{"values of `min` and `max`", 64},
		{"the power in a unit", unit.MaxPower},
	} {
		fmt.Fprintf(&b, "| %s | %v |\n", r.what, r.most)
	}
	return b.String()
}

// TestReadmeSizes tries the bounds of an expression on either side.
func TestReadmeSizes(t *testing.T) {
	nested := func(n int) string { return strings.Repeat("(", n) + "1" + strings.Repeat(")", n) }
	long := func(n int) string { return "1" + strings.Repeat(" + 1", n/2) }
	for _, c := range []struct {
		expr string
		ok   bool
	}{{nested(exprDepth), true}, {nested(exprDepth + 1), false}, {long(exprWords - 1), true}, {long(exprWords + 1), false}} {
		w := compiler.Open(fstest.MapFS{source.MainName: {Data: []byte("let a = " + c.expr + "\n")}})
		if w.Diags.HasErrors() == c.ok {
			t.Errorf("%.20s… of %d bytes: errors %v", c.expr, len(c.expr), w.Diags.HasErrors())
		}
	}
}

func stdlibTable(t *testing.T) string {
	var b strings.Builder
	b.WriteString("| module | what it holds |\n| --- | --- |\n")
	for _, m := range stdlib.Modules() {
		text, ok := stdlib.Text(m)
		if !ok {
			t.Fatalf("no module %s", m)
		}
		var errs diag.List
		var names []string
		for _, d := range syntax.Parse(source.New(m, text), &errs).Decls {
			switch d.(type) {
			case *syntax.Fn, *syntax.Let, *syntax.Catalog:
				names = append(names, "`"+d.Header().Name.Text+"`")
			}
		}
		fmt.Fprintf(&b, "| `%s` | %s |\n", m, strings.Join(names, " "))
	}
	return b.String()
}

// TestReadmeWords holds the list of the language's words, and the grammar's
// terminals, to the lexer's.
func TestReadmeWords(t *testing.T) {
	blocks, text := readmeBlocks(t)
	_, rest, _ := strings.Cut(text, "<!-- words -->")
	section, _, _ := strings.Cut(rest, "<!-- end -->")
	var words []string
	for _, m := range regexp.MustCompile("`([a-z]+)`").FindAllStringSubmatch(section, -1) {
		words = append(words, m[1])
		if !syntax.IsKeyword(m[1]) {
			t.Errorf("`%s` is listed and is no word of the language", m[1])
		}
	}
	names := []string{"allow", "warn", "clamp", "name", "e", "table", "as", "step", "offset", "at", "by", "auto", "compensates", "bytes", "differs", "jump"} // words only where they stand
	i := slices.IndexFunc(blocks, func(b block) bool { return b.lang == "ebnf" })
	if i < 0 {
		t.Fatal("the reference has no grammar")
	}
	terminals := map[string]bool{}
	for _, m := range regexp.MustCompile(`"([a-z]+)"`).FindAllStringSubmatch(blocks[i].text, -1) {
		terminals[m[1]] = true
		if !slices.Contains(words, m[1]) && !slices.Contains(names, m[1]) {
			t.Errorf("the grammar has %q, which isn't listed", m[1])
		}
	}
	for _, w := range words {
		if w != "variants" && !terminals[w] {
			t.Errorf("`%s` is listed and isn't in the grammar", w)
		}
	}
}

// TestReadmeGrammar looks that every name of the grammar is defined once and
// that every definition is used.
func TestReadmeGrammar(t *testing.T) {
	blocks, _ := readmeBlocks(t)
	for _, b := range blocks {
		if b.lang != "ebnf" {
			continue
		}
		quoted := regexp.MustCompile(`"[^"]*"|'[^']*'|\. {4,}.*|\{ any .*`)
		defined, used := map[string]int{}, map[string]bool{}
		for _, line := range strings.Split(b.text, "\n") {
			line = quoted.ReplaceAllString(line, " ")
			head, body, ok := strings.Cut(line, "=")
			if !ok {
				body = line
			} else {
				defined[strings.TrimSpace(head)]++
			}
			for _, w := range regexp.MustCompile(`[A-Za-z]+`).FindAllString(body, -1) {
				used[w] = true
			}
		}
		known := []string{"NEWLINE", "CELL", "UNITWORD", "letter", "digit", "digits"}
		for w := range used {
			if defined[w] == 0 && !slices.Contains(known, w) {
				t.Errorf("%s isn't defined", w)
			}
		}
		for w, n := range defined {
			if n != 1 || !used[w] && w != "source" && w != "COMMENT" {
				t.Errorf("%s is defined %d times, used: %v", w, n, used[w])
			}
		}
	}
}
