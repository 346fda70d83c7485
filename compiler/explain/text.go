package explain

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"fettle/compiler/check"
	"fettle/compiler/grid"
	"fettle/lang/diag"
	"fettle/lang/unit"
)

// TextOptions says how a chain is printed.
type TextOptions struct {
	Color bool
	Width int // 0: as wide as it comes
}

// Text prints a chain for a person.
func (c *Chain) Text(w io.Writer, res grid.Res, opt TextOptions) {
	bold := func(s string) string {
		if opt.Color {
			return "\x1b[1m" + s + "\x1b[0m"
		}
		return s
	}
	dim := func(s string) string {
		if opt.Color {
			return "\x1b[2m" + s + "\x1b[0m"
		}
		return s
	}
	tune := c.Tune
	if c.Of != "" {
		tune += " of " + diag.Clean(c.Of)
	}
	if c.Target != "" {
		tune += " for " + c.Target
	}
	what, value := c.Map, unit.With(c.Printed, c.Unit)
	if c.Table != nil {
		what, value = c.Table.Name+", of "+c.Map+",", c.Table.head(c.Unit)
	}
	fmt.Fprintf(w, "%s   %s at %s   %s\n", tune, what, place(c.At), bold(value))
	for _, a := range c.At {
		if a.Held {
			fmt.Fprintf(w, "  %s is beyond the map's breakpoints, which hold their edge\n", named(a))
		}
	}
	if c.Between != nil {
		fmt.Fprintf(w, "  between breakpoints, interpolated from\n")
		for _, k := range c.Between {
			fmt.Fprintf(w, "    %-34s %8s   weight %s\n", place(k.At), unit.With(res.Format(k.Value), c.Unit), short(k.Weight))
		}
		fmt.Fprintf(w, "  the chain of the cell that weighs most, %s:\n", place(c.Cell))
	}
	c.textChain(w, res, dim)
	if c.Table != nil {
		c.Table.text(w, c)
	}
	c.textLimits(w, dim)
	for i, s := range c.Said {
		if i == 0 {
			fmt.Fprintln(w)
		}
		fmt.Fprintf(w, "caution: %s\n", s)
	}
}

// row is one line of the chain: name, what it did, value after, place.
type row struct {
	name, did, after, place, note string
}

func (c *Chain) textChain(w io.Writer, res grid.Res, dim func(string) string) {
	rows := []row{c.baseRow()}
	for _, l := range c.Links {
		name := l.Kind + " " + l.Name
		if l.Kind == "trim" {
			name = "trim"
		}
		if !l.Applied {
			if n := len(rows); rows[n-1].name == name && rows[n-1].note == l.Reason {
				continue // the rule's other adjustments are left out for the same reason
			}
			rows = append(rows, row{name: name, did: "—", place: l.Place, note: l.Reason})
			continue
		}
		note := l.Text
		if in := readsText(l.Reads); in != "" {
			note += "  (" + in + ")"
		}
		rows = append(rows, row{name: name, did: did(l), after: number(l.After, c.Unit), place: l.Place, note: note})
	}
	if c.Target == "" {
		rows = append(rows, row{name: "written", after: unit.With(c.lastPrinted(res), c.Unit), note: written(res)})
	}
	var wide [4]int
	for _, r := range rows {
		for i, s := range []string{r.name, r.did, r.after, r.place} {
			wide[i] = max(wide[i], len([]rune(s)))
		}
	}
	for _, r := range rows {
		line := fmt.Sprintf("  %s  %s  %s  %s  %s", pad(r.name, wide[0]), pad(r.did, wide[1]), left(r.after, wide[2]), pad(r.place, wide[3]), dim(r.note))
		fmt.Fprintln(w, strings.TrimRight(line, " "))
	}
	if c.Base.Kind == "formula" && len(c.Base.Reads) > 0 {
		fmt.Fprintf(w, "\n  the formula reads here\n")
		for _, o := range c.Base.Reads {
			fmt.Fprintf(w, "    %-20s  %s\n", o.Name, number(o.Value, o.Unit))
		}
	}
}

func (c *Chain) lastPrinted(res grid.Res) string {
	v := c.Base.Value
	if n := len(c.Links); n > 0 {
		v = c.Links[n-1].After
	}
	return res.Format(v)
}

func written(res grid.Res) string {
	if res.Set() {
		return "rounded to " + grid.Res{}.Format(res.Step())
	}
	return "to 6 significant digits"
}

func (c *Chain) baseRow() row {
	r := row{name: "base", after: number(c.Base.Value, c.Unit), place: c.Base.Place}
	switch c.Base.Kind {
	case "given":
		r.note = "given"
	case "formula":
		r.note = "= " + c.Base.Formula
	default:
		var from []string
		for _, k := range c.Base.From {
			from = append(from, number(k.Value, c.Unit)+" at "+place(k.At))
		}
		r.note = "filled from " + strings.Join(from, " and ")
	}
	return r
}

// did says what an adjustment did: "+3 %", "× 0.918", "at weight 0.5".
func did(l Link) string {
	if l.Amount == nil {
		return ""
	}
	a := *l.Amount
	amount := number(a, l.Unit)
	if l.Share {
		amount = number(a*100, "%")
	}
	if a < 0 && l.Op != "=" && l.Op != "clamp" {
		amount = "(" + amount + ")" // "- (-1.5 deg)"
	}
	s := ""
	switch {
	case l.Op == "clamp":
		s = map[bool]string{true: "capped at ", false: "raised to "}[l.After <= l.Before] + amount
	case l.Op == "=":
		s = "= " + amount
	case l.Op == "*=":
		s = "× " + amount
	case l.Op == "/=":
		s = "÷ " + amount
	default:
		s = strings.TrimSuffix(l.Op, "=") + " " + amount
	}
	if l.Weight != nil && *l.Weight != 1 {
		s += ", weight " + short(*l.Weight)
	}
	return s
}

func (c *Chain) textLimits(w io.Writer, dim func(string) string) {
	if len(c.Limits) == 0 {
		return
	}
	if c.Table != nil && c.Table.Between != nil {
		fmt.Fprintf(w, "\n  limits that see the table's cell that weighs most, %s\n", place(c.Table.Cell))
	} else {
		fmt.Fprintf(w, "\n  limits that see this cell\n")
	}
	wide := 0
	for _, l := range c.Limits {
		wide = max(wide, len(l.Name))
	}
	for _, l := range c.Limits {
		say := l.Reason
		if l.Margin != nil {
			say = fmt.Sprintf("%s, bound %s: %s", number(*l.Value, l.Unit), number(*l.Bound, l.Unit), Room(*l.Margin, l.Unit))
		}
		fmt.Fprintf(w, "    %s  %s%s  %s\n", pad(l.Name, wide), c.through(l), say, dim(l.Place+"  "+l.Text+mode(l.Mode)))
	}
}

// through says by which maps a limit sees a table's cell, and where it looks if
// that is another place.
func (c *Chain) through(l LimitHere) string {
	if l.Through == nil {
		return ""
	}
	text := "through " + strings.Join(l.Through, ", ")
	for _, a := range l.At {
		if !slices.Contains(c.Table.Cell, a) {
			return text + " at " + place(l.At) + ": "
		}
	}
	return text + ": "
}

// Room says a margin in words.
func Room(margin float64, unit string) string {
	if margin < 0 {
		return number(-margin, unit) + " past it"
	}
	return number(margin, unit) + " of room"
}

// readsText says what an amount reads: "pipe.tuned 690 rpm; reads fuel(100 %,
// 9844 rpm)".
func readsText(list []Operand) string {
	var out []string
	for _, o := range list {
		if o.Before {
			out = append(out, "reads "+o.Name+", then "+number(o.Value, o.Unit))
		} else {
			out = append(out, o.Name+" is "+number(o.Value, o.Unit))
		}
	}
	return strings.Join(out, "; ")
}

func mode(m string) string {
	if m == check.Fail.String() {
		return ""
	}
	return "  (else " + m + ")"
}

func place(at []Coord) string {
	var out []string
	for _, a := range at {
		out = append(out, named(a))
	}
	return strings.Join(out, ", ")
}

func named(a Coord) string { return check.OnAxis(a.Axis, a.Unit, a.Value) }

func short(x float64) string { return grid.Res{}.Format(x) }

func pad(s string, n int) string { return s + strings.Repeat(" ", max(0, n-len([]rune(s)))) }

func left(s string, n int) string { return strings.Repeat(" ", max(0, n-len([]rune(s)))) + s }
