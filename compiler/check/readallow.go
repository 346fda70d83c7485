package check

import (
	"errors"
	"fmt"
	"strings"

	"fettle/lang/diag"
	"fettle/lang/formula"
	"fettle/lang/source"
	"fettle/lang/syntax"
	"fettle/lang/unit"
)

// ReadAllow reads a policy from a command line: `fuel=2%,spark=0.5deg`, or
// `none`. Amounts are written numbers with their units, and mean what they mean
// in a review. Of the program the maps alone count, and of these their names and
// units, so one that holds no more will do, as for tables that were read.
func ReadAllow(p *Program, text string) ([]Allowance, error) {
	if strings.TrimSpace(text) == "none" {
		return []Allowance{}, nil
	}
	var out []Allowance
	for _, part := range strings.Split(text, ",") {
		name, amount, ok := strings.Cut(part, "=")
		name, amount = strings.TrimSpace(name), strings.TrimSpace(amount)
		if !ok || amount == "" || strings.Contains(amount, "=") || !syntax.IsName(strings.ToLower(name)) {
			return nil, notAllowed(part, text)
		}
		m := findMap(p.Maps, name)
		if m == nil {
			return nil, noMap(p.Maps, name)
		}
		if findAllowed(out, name) {
			return nil, fmt.Errorf("`%s` is allowed twice", name)
		}
		a, err := readAmount(m, amount)
		if err != nil {
			return nil, err
		}
		out = append(out, a)
	}
	return out, nil
}

// notAllowed words that a part is no map with its amount.
func notAllowed(part, whole string) error {
	part = strings.TrimSpace(part)
	switch {
	case strings.TrimSpace(whole) == "":
		return errors.New("nothing is allowed here: write as in `fuel=2%,spark=0.5deg`, or `none`")
	case part == "":
		return errors.New("a comma stands where a map and its amount belong, as in `fuel=2%,spark=0.5deg`")
	case part == "none":
		return errors.New("`none` stands alone: it allows nothing")
	case part[0] >= '0' && part[0] <= '9':
		return fmt.Errorf("%q names no map: it is written as in `fuel=2%%`, with a dot before decimals", part)
	}
	return fmt.Errorf("%q isn't a map and its amount, as in `fuel=2%%`", part)
}

func noMap(maps []*Map, name string) error {
	names := make([]string, len(maps))
	for i, m := range maps {
		names[i] = m.Name
	}
	near := strings.ToLower(name)
	if findMap(maps, near) == nil {
		near = diag.Nearest(near, names)
	}
	if near != "" {
		return fmt.Errorf("there is no map `%s`: did you mean `%s`?", name, near)
	}
	if len(names) > 0 && len(names) <= 12 {
		return fmt.Errorf("there is no map `%s`: there is %s", name, join(names))
	}
	return fmt.Errorf("there is no map `%s`", name)
}

func findMap(maps []*Map, name string) *Map {
	for _, m := range maps {
		if m.Name == name {
			return m
		}
	}
	return nil
}

func findAllowed(list []Allowance, name string) bool {
	for _, a := range list {
		if a.Map.Name == name {
			return true
		}
	}
	return false
}

// readAmount reads one amount; its first fault, with the fix, is the error.
func readAmount(m *Map, text string) (Allowance, error) {
	c := &checker{errs: &diag.List{}}
	var a Allowance
	ok := false
	if e := syntax.ParseExpr(source.New("--allow", text), c.errs); e != nil && !c.errs.HasErrors() {
		a, ok = c.allowance(m, e, noNames{})
	}
	if ok {
		return a, nil
	}
	for _, d := range c.errs.Sorted() {
		if d.Severity != diag.Error {
			continue
		}
		said := source.OneLine(d.Message)
		if !strings.Contains(said, "`"+m.Name+"`") {
			said = m.Name + ": " + said
		}
		if d.Fix != nil && d.Fix.Text != "" {
			said += "; " + source.OneLine(d.Fix.Text)
		}
		return a, errors.New(said)
	}
	return a, fmt.Errorf("%q can't be read as an amount", text)
}

// noNames is a scope without a name in it.
type noNames struct{}

func (noNames) Find(string) (formula.Symbol, bool) { return formula.Symbol{}, false }
func (noNames) Names() []string                    { return nil }
func (noNames) AxisName(int) string                { return "" }
func (noNames) AxisUnit(int) unit.Unit             { return unit.None }
