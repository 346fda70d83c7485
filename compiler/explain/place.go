package explain

import (
	"fmt"
	"regexp"
	"strings"

	"fettle/compiler/check"
	"fettle/lang/diag"
	"fettle/lang/formula"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// Place reads a place on a map's axes: `throttle=100 rpm=9000`, in any order,
// with units or without; or bare values in the map's order of axes.
func Place(p *check.Program, m *check.Map, args []string, errs *diag.List) ([]float64, error) {
	at := make([]float64, len(m.Axes))
	set := make([]bool, len(m.Axes))
	var names []string
	for _, a := range m.Axes {
		names = append(names, p.Axes[a].Name)
	}
	form := func() string {
		var out []string
		for _, n := range names {
			out = append(out, n+"=…")
		}
		return strings.Join(out, " ")
	}
	for i, arg := range places(args) {
		name, text, named := strings.Cut(arg, "=")
		k := -1
		if !named {
			text, k = arg, i
		}
		for j, n := range names {
			if named && strings.TrimSpace(name) == n {
				k = j
			}
		}
		if k < 0 || k >= len(names) {
			if near := diag.Nearest(name, names); named && near != "" {
				return nil, fmt.Errorf("map %s has no axis %s: did you mean %s?", m.Name, name, near)
			}
			return nil, fmt.Errorf("map %s takes %s, and %q is none of them", m.Name, form(), arg)
		}
		if set[k] {
			return nil, fmt.Errorf("%s is given twice", names[k])
		}
		f := source.New(names[k], text)
		v := formula.Compile(syntax.ParseExpr(f, errs), formula.Context{Scope: p.Scope, What: "the command line"}, errs)
		n := v.As(p.Axes[m.Axes[k]].Unit, names[k], errs)
		if n == nil {
			return nil, nil
		}
		if !n.IsConst() {
			return nil, fmt.Errorf("%s=%s is not a fixed value", names[k], text)
		}
		at[k], set[k] = n.Val, true
	}
	for k := range set {
		if !set[k] {
			return nil, fmt.Errorf("a place on map %s is %s: %s is missing", m.Name, form(), names[k])
		}
	}
	return at, nil
}

var axisEquals = regexp.MustCompile(`[A-Za-z_]\w*\s*=`)

// places parts what was written into one text an axis, however it was spaced:
// `throttle = 100`, `throttle=100,rpm=9000`.
func places(args []string) []string {
	whole := strings.Join(args, " ")
	at := axisEquals.FindAllStringIndex(whole, -1)
	if at == nil {
		return args
	}
	var out []string
	if before := strings.Trim(whole[:at[0][0]], " ,"); before != "" {
		out = append(out, before)
	}
	for i, m := range at {
		end := len(whole)
		if i+1 < len(at) {
			end = at[i+1][0]
		}
		out = append(out, strings.Trim(whole[m[0]:end], " ,"))
	}
	return out
}
