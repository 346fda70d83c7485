// Package library is the standard library from the outside: a calculator over
// its functions, and its pages, made from the comments of its own sources.
//
// How it goes. A workspace in memory that uses every module is checked like any
// other. An expression is compiled in its scope and computed without a cell; a
// page is a module's declarations with the comments above them.
//
// In: an expression, or a name. Out: a value with its unit, or pages. Imported
// by cmd.
package library

import (
	"sort"
	"strings"

	"fettle/compiler/check"
	"fettle/compiler/resolve"
	"fettle/lang/diag"
	"fettle/lang/formula"
	"fettle/lang/source"
	"fettle/lang/syntax"
	"fettle/lang/unit"
	"fettle/stdlib"
)

// Library is the standard library, checked.
type Library struct {
	resolved *resolve.Program
	program  *check.Program
}

// Open checks the library. Its sources are part of the binary, so an error in
// the list is a fault of the binary.
func Open() (*Library, *diag.List) {
	errs := &diag.List{}
	text := "use " + strings.Join(stdlib.Modules(), ", ") + "\n"
	l := &Library{}
	l.resolved = resolve.Load(source.Memory{source.MainName: text}, errs)
	l.program = check.Run(l.resolved, errs)
	return l, errs
}

// Value is a computed expression.
type Value struct {
	Number float64
	Unit   unit.Unit
	YesNo  bool
}

// Eval computes an expression of the language: numbers with units, the
// language's functions and the library's. `EXPR in UNIT` converts the result.
// Faults go to errs, and the value is nil.
func (l *Library) Eval(text string, errs *diag.List) *Value {
	expr, into, at := splitIn(text)
	f := source.New("expression", text)
	e := syntax.ParseExpr(source.New("expression", expr), errs)
	if e == nil || errs.HasErrors() {
		return nil
	}
	v := formula.Compile(e, formula.Context{Scope: l.program.Scope, What: "the command line",
		Use: "the calculator knows the library, not a workspace"}, errs)
	if v == nil {
		return nil
	}
	n := v.Node
	out := &Value{Unit: n.Type.Unit, YesNo: n.Type.Kind == formula.YesNo}
	if into != "" {
		ref := &syntax.UnitRef{Text: into, Span: source.Span{File: f, From: at, To: at + len(into)}}
		u, ok := formula.ReadUnit(ref, errs)
		if !ok {
			return nil
		}
		if n = v.As(u, "the result", errs); n == nil {
			return nil
		}
		out.Unit = u
	}
	x, err := formula.Scalar(n, nothing{})
	if err != nil {
		errs.Add("E330", e.Span, "%v", err)
		return nil
	}
	out.Number = x
	return out
}

// splitIn parts "EXPR in UNIT" at the last ` in ` outside parentheses. The unit
// may stand in brackets or without.
func splitIn(text string) (expr, into string, at int) {
	depth := 0
	for i := 0; i < len(text); i++ {
		switch c := text[i]; {
		case c == '(' || c == '[':
			depth++
		case c == ')' || c == ']':
			depth--
		case depth == 0 && strings.HasPrefix(text[i:], " in ") && strings.TrimSpace(text[:i]) != "":
			expr, at = text[:i], i+4
		}
	}
	if at == 0 {
		return text, "", 0
	}
	into = text[at:]
	for into != "" && into[0] == ' ' {
		into, at = into[1:], at+1
	}
	into = strings.TrimRight(into, " ")
	if strings.HasPrefix(into, "[") && strings.HasSuffix(into, "]") {
		into, at = into[1:len(into)-1], at+1
	}
	return expr, into, at
}

// nothing is no conditions: the calculator has none.
type nothing struct{}

func (nothing) Given(int) float64       { return 0 }
func (nothing) Row(int) int             { return 0 }
func (nothing) Column(int, int) float64 { return 0 }

// Names lists everything that the calculator knows by name, for completion.
func (l *Library) Names() []string {
	var out []string
	for _, m := range l.resolved.Modules {
		for _, name := range m.Order {
			out = append(out, m.Module+"."+name)
		}
	}
	sort.Strings(out)
	return out
}
