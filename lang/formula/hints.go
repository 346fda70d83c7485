package formula

import (
	"strings"

	"fettle/lang/diag"
	"fettle/lang/source"
	"fettle/lang/unit"
	"fettle/stdlib"
)

// What may have been meant by a name that isn't there.

// borrowed are names that other languages have, and what to write here.
var borrowed = map[string]string{
	"pow": "`a ^ b` raises to a power", "ln": "`log` is the natural logarithm", "log10": "write `log(x) / log(10)`",
	"mod": "there is no remainder; `x - floor(x / y) * y` is one", "int": "write `floor`, `ceil` or `round`", "trunc": "write `floor`",
	"avg": "write `(a + b) / 2`", "mean": "write `(a + b) / 2`", "interp": "a map is looked up as `fuel(throttle, rpm)`", "lookup": "a map is looked up as `fuel(throttle, rpm)`",
	"pi": "write `180 deg / 1 rad`",
}

// yesWords are yes and no in other languages.
var yesWords = map[string]string{"true": "yes", "on": "yes", "false": "no", "off": "no"}

// elsewhere looks for a name that isn't there in other places: among the words
// of other languages, the units, and the modules that are used.
func (c *checking) elsewhere(d *diag.Diagnostic, s Scope, path []string, at source.Span, names []string) bool {
	word := path[0]
	if yes := yesWords[word]; yes != "" {
		if c.ctx.Givens {
			d.Hint("a condition that holds or doesn't is asked by its name: `wet`, `not wet`")
		} else {
			d.Suggest(at, yes, "write `%s`", yes)
		}
		return true
	}
	if c.about != "" && c.asked.Catalog.Row(word) >= 0 && len(path) == 1 {
		d.Suggest(at, c.about+" is "+word, "write `%s is %s`", c.about, word)
		return true
	}
	if hint := borrowed[word]; hint != "" {
		d.Hint("%s", hint)
		return true
	}
	for _, name := range names {
		if name == word || diag.Nearest(word, []string{name}) == "" {
			continue
		}
		if len(word) > 3 { // near enough to be this one, rather than a unit
			return false
		}
	}
	if _, ok := unit.Lookup(word); ok && len(path) == 1 {
		d.Hint("`%s` is a unit, and a unit follows a number: `1 %s`", word, word)
		return true
	}
	for _, name := range stdlib.Modules() {
		sym, ok := s.Find(name)
		if !ok || sym.Kind != SymModule {
			continue
		}
		if _, there := sym.Module.Find(word); there {
			d.Suggest(at, name+"."+word, "write `%s.%s`", name, word)
			return true
		}
	}
	return false
}

func (c *checking) nearest(d *diag.Diagnostic, l leaf, word string, names []string) {
	if c.errs.Many() {
		return
	}
	if near := diag.Nearest(word, names); near != "" {
		if i := strings.LastIndex(l.span.Text(), word); i >= 0 {
			at := l.span
			at.From += i
			at.To = at.From + len(word)
			d.Span = at
			d.Suggest(at, near, "did you mean `%s`?", near)
			return
		}
		d.Hint("did you mean `%s`?", near)
	} else if len(names) > 0 && len(names) <= 12 {
		d.Hint("it has: %s", strings.Join(names, ", "))
	}
}

func firstWord(span source.Span, word string) source.Span {
	span.To = min(span.To, span.From+len(word))
	return span
}

// coordinates writes a map's arguments, dots for an axis that the cell lacks.
func (c *checking) coordinates(axes []int) string {
	out := make([]string, len(axes))
	for i, a := range axes {
		out[i] = "…"
		if contains(c.ctx.Axes, a) {
			out[i] = c.ctx.Scope.AxisName(a)
		}
	}
	return strings.Join(out, ", ")
}

// noGivens refuses a given where conditions can't be seen.
func (c *checking) noGivens(span source.Span, name string) {
	d := c.fail("E318", span, "`%s` is a given, and %s sees no givens", name, c.ctx.What)
	if c.ctx.Params != nil {
		d.Hint("give it to the function as a parameter")
	}
}

// rowMeant is the row that an incomplete name has, or else the first.
func rowMeant(cat *Catalog, rest []string) string {
	if len(rest) > 0 && cat.Row(rest[0]) >= 0 {
		return rest[0]
	}
	return first(cat.Rows)
}
