package form

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"fettle/compiler/emit"
	"fettle/compiler/grid"
	"fettle/compiler/table"
)

// header writes one C header a tune: an array for each table and each of its
// axes. It may be included as often as one likes, in files that use none of it.
// The names begin with the tune's and, in a bundle, the slot's, so that the headers
// of several can stand in one program.
func header(c *emit.Content) ([]emit.File, error) {
	w := &cWriter{}
	prefix := prefixOf(c)
	// Two names that make one identifier mustn't hide each other's tables.
	guard := "FETTLE_" + strings.ToUpper(prefix+short(c.About.Name+"\x00"+c.Target)) + "_H"
	w.comment(about(c)...)
	w.line("#ifndef %s", guard)
	w.line("#define %s", guard)
	w.line("")
	w.line("#include <stdint.h>")
	w.line("")
	w.line("#ifndef FETTLE_UNUSED")
	w.line("#if defined(__GNUC__)")
	w.line("#define FETTLE_UNUSED __attribute__((unused))")
	w.line("#else")
	w.line("#define FETTLE_UNUSED")
	w.line("#endif")
	w.line("#endif")
	for i := range c.Tables {
		if err := w.table(prefix, &c.Tables[i]); err != nil {
			return nil, err
		}
	}
	w.line("")
	w.line("#endif")
	return []emit.File{{Path: "tables.h", Data: []byte(w.b.String())}}, nil
}

// about says in lines what the tables are for.
func about(c *emit.Content) []string {
	t := c.About
	lines := []string{"Tables of " + t.Name + ", written by fettle " + t.Compiler + "."}
	if c.Target != "" {
		lines = append(lines, "For the target "+c.Target+".")
	}
	lines = append(lines, t.Doc, "Source "+t.Source.Digest, "", "Conditions")
	for _, x := range t.Conditions {
		lines = append(lines, "  "+x.Name+" = "+x.Text)
	}
	lines = append(lines, "", "Limits")
	for _, l := range t.Limits {
		lines = append(lines, "  "+l.Name+" ("+l.State+"): "+l.Text)
	}
	lines = append(lines, "", "Cautions")
	for _, text := range t.Cautions {
		lines = append(lines, "  "+text)
	}
	return lines
}

type cWriter struct {
	b     strings.Builder
	names cNames
}

func (w *cWriter) line(format string, args ...any) { fmt.Fprintf(&w.b, format+"\n", args...) }

// comment writes lines as one comment, whatever they hold.
func (w *cWriter) comment(lines ...string) {
	w.b.WriteString("/*\n")
	for _, l := range lines {
		for _, part := range strings.Split(l, "\n") {
			w.b.WriteString(strings.TrimRight(" * "+inComment(part), " ") + "\n")
		}
	}
	w.b.WriteString(" */\n")
}

// cTypes is the C type of each way of storing.
var cTypes = map[table.Type]string{
	table.U8: "uint8_t", table.I8: "int8_t", table.U16: "uint16_t", table.I16: "int16_t", table.U32: "uint32_t", table.I32: "int32_t", table.F32: "float",
}

func (w *cWriter) table(prefix string, t *table.Table) error {
	base := prefix + identifier(t.Name)
	kind, cells := "double", t.Cells
	lines := []string{grid.AxisHead{Name: t.Name, Unit: t.Unit}.String()}
	if t.Map != t.Name {
		lines[0] += ", of the map " + t.Map
	}
	if t.Doc != "" {
		lines = append(lines, t.Doc)
	}
	names := make([]string, 0, 2)
	for _, a := range t.Axes() {
		names = append(names, grid.AxisHead{Name: a.Name, Unit: a.Unit}.String())
	}
	if len(names) == 2 {
		lines = append(lines, "rows "+names[0]+", columns "+names[1])
	} else {
		lines = append(lines, "over "+names[0])
	}
	if s := t.Storage; s != nil {
		kind, cells = cTypes[s.Type], s.Raw
		lines = append(lines, strings.TrimSpace("value = "+grid.Exact(s.Offset)+" + raw * "+grid.Exact(s.Step)+" "+t.Unit))
	}
	if kind == "" {
		return fmt.Errorf("table %s: C has no type for %s", t.Name, t.Storage.Type)
	}
	w.line("")
	w.comment(lines...)
	dims := ""
	for i, a := range t.Axes() {
		n := w.names.fit(base, [...]string{"_rows", "_cols"}[i+2-len(names)])
		w.line("enum { %s = %d };", n, len(a.Points))
		dims += fmt.Sprintf("[%d]", len(a.Points))
	}
	for _, a := range t.Axes() {
		w.line("static const double %s[%d] FETTLE_UNUSED = {", w.names.fit(base, "_axis_"+identifier(a.Name)), len(a.Points))
		w.list("  ", a.Points, cDouble)
		w.line("};")
	}
	if t.Storage != nil {
		w.line("static const double %s FETTLE_UNUSED = %s;", w.names.fit(base, "_step"), cDouble(t.Storage.Step))
		w.line("static const double %s FETTLE_UNUSED = %s;", w.names.fit(base, "_offset"), cDouble(t.Storage.Offset))
	}
	w.line("static const %s %s%s FETTLE_UNUSED = {", kind, w.names.fit(base, "_values"), dims)
	n := len(t.Cols.Points)
	for r := range t.NRows() {
		row := cells[r*n : (r+1)*n]
		if len(names) == 1 {
			w.list("  ", row, literal(t))
			break
		}
		var one cWriter
		if one.list("", row, literal(t)); strings.Count(one.b.String(), "\n") == 1 {
			w.line("  { %s },", strings.TrimSpace(one.b.String()))
			continue
		}
		w.line("  {")
		w.list("    ", row, literal(t))
		w.line("  },")
	}
	w.line("};")
	return nil
}

// list writes numbers, as many on a line as fit.
func (w *cWriter) list(indent string, xs []float64, text func(float64) string) {
	line := indent
	for i, x := range xs {
		s := text(x)
		if i < len(xs)-1 {
			s += ","
		}
		if len(line) > len(indent) && len(line)+1+len(s) > 110 {
			w.b.WriteString(line + "\n")
			line = indent
		}
		if len(line) > len(indent) {
			line += " "
		}
		line += s
	}
	w.b.WriteString(line + "\n")
}

// literal writes a cell of a table as C reads it back.
func literal(t *table.Table) func(float64) string {
	switch {
	case t.Storage == nil:
		return cDouble
	case t.Storage.Type == table.F32:
		return func(x float64) string {
			if x == 0 {
				return "0.0f"
			}
			return pointed(strconv.FormatFloat(x, 'f', -1, 32)) + "f"
		}
	case t.Storage.Type == table.U32:
		return func(x float64) string { return strconv.FormatInt(int64(x), 10) + "u" }
	case t.Storage.Type == table.I32:
		return func(x float64) string {
			if x == math.MinInt32 {
				return "-2147483647 - 1" // C has no negative literals
			}
			return strconv.FormatInt(int64(x), 10)
		}
	}
	return func(x float64) string { return strconv.FormatInt(int64(x), 10) }
}

// cDouble writes a number as a double, which needs a dot.
func cDouble(x float64) string { return pointed(grid.Exact(x)) }

func pointed(s string) string {
	if strings.Contains(s, ".") {
		return s
	}
	return s + ".0"
}
