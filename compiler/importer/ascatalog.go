package importer

import (
	"strings"
	"unicode"

	"fettle/lang/syntax"
)

// col is a column of a catalogue.
type col struct {
	name, unit string
	yesNo      bool
	text       bool
}

var yesNo = map[string]string{"yes": "yes", "no": "no", "true": "yes", "false": "no", "y": "yes", "n": "no"}

// asCatalog writes a table of names as a catalogue.
func (j *job) asCatalog(g *region) string {
	names, ok := j.rowNames(g)
	cols := make([]col, len(g.head))
	taken := map[string]cell{}
	for i := 1; i < len(g.head); i++ {
		good := j.column(&cols[i], g, i)
		ok = ok && good
		if first, twice := taken[cols[i].name]; twice && good {
			j.fault("E215", g.head[i], "the column `%s` stands twice", cols[i].name).Note(first.span, "%s: the first", first.at())
			ok = false
		}
		taken[cols[i].name] = g.head[i]
	}
	if !ok {
		return ""
	}
	if c := g.head[0]; c.text != "name" {
		j.notef("the first column's head %s became `name`", quote(c.text))
	}
	j.out.Name = j.name("")
	j.out.Rows, j.out.Columns = len(g.rows), len(g.head)
	var heads []string
	for _, c := range cols[1:] {
		heads = append(heads, withUnit(c.name, c.unit))
	}
	j.said = append(j.said, "a catalogue of "+strings.Join(heads, ", "))
	return j.writeCatalog(g, names, cols)
}

// rowNames makes the names of the rows legal; each stands once.
func (j *job) rowNames(g *region) ([]string, bool) {
	out := make([]string, len(g.rows))
	taken := map[string]cell{}
	ok := true
	for i, row := range g.rows {
		c := row[0]
		name := legal(c.text, "n")
		switch first, twice := taken[name]; {
		case c.date || c.fault:
			j.notNumber(c, "a name")
			ok = false
		case name == "":
			j.fault("E908", c, "a row without a name").Hint("the first column holds the rows' names")
			ok = false
		case twice:
			j.fault("E215", c, "the row `%s` stands twice", name).Note(first.span, "%s: the first, %s", first.at(), quote(first.text))
			ok = false
		}
		taken[name] = c
		out[i] = name
		j.renamed(c.text, name)
	}
	return out, ok
}

// column settles what a column holds: numbers, yes and no, or text.
func (j *job) column(out *col, g *region, i int) bool {
	c := g.head[i]
	h := headOf(c.text)
	if out.name = legal(h.name, "c"); out.name == "" {
		j.fault("E908", c, "a column without a name").Hint("the first line holds the columns' heads")
		return false
	}
	j.renamed(h.name, out.name)
	numbers, answers, filled, cells := 0, 0, 0, make([]cell, len(g.rows))
	for r, row := range g.rows {
		cells[r] = row[i]
		switch {
		case row[i].blank():
			continue
		case row[i].number != "":
			numbers++
		case yesNo[strings.ToLower(row[i].text)] != "":
			answers++
		}
		filled++
	}
	switch {
	case h.unit == "text":
		out.text, out.unit = true, "text"
		return j.texts(cells)
	case h.unit == "yes/no" || !h.bracket && answers > 0 && answers == filled:
		out.yesNo, out.unit = true, h.unit
		return j.answers(cells)
	case h.bracket || numbers*2 >= filled && filled > 0:
		return j.quantities(out, h, c, cells)
	}
	if !j.texts(cells) {
		return false
	}
	out.text, out.unit = true, "text"
	j.notef("the column `%s` holds text", out.name)
	return true
}

// texts refuses what a spreadsheet made of a text.
func (j *job) texts(cells []cell) bool {
	ok := true
	for _, c := range cells {
		if c.date || c.fault {
			j.notNumber(c, "a text")
			ok = false
		}
	}
	return ok
}

func (j *job) answers(cells []cell) bool {
	ok := true
	for _, c := range cells {
		if yesNo[strings.ToLower(c.text)] == "" {
			j.fault("E216", c, "%s is neither yes nor no", quote(c.text))
			ok = false
		}
	}
	return ok
}

// quantities reads a column of numbers; none may be missing.
func (j *job) quantities(out *col, h head, c cell, cells []cell) bool {
	ok := true
	for _, x := range cells {
		switch {
		case x.number != "":
		case x.blank() || x.text == "_":
			j.fault("E217", x, "a cell of the column `%s` is empty: a catalogue has no blanks", out.name).Hint("write the value, or leave the row out")
			ok = false
		default:
			j.notNumber(x, "a number of the column `"+out.name+"`")
			if d := j.errs.Last(); d.Fix == nil {
				d.Hint("if the column holds text, head it `%s [text]`", out.name)
			}
			ok = false
		}
	}
	if !ok || !j.percents(cells) {
		return false
	}
	if h.unit != "" {
		if out.unit, ok = j.unit(h.unit, h.name, c); !ok {
			return false
		}
	}
	if len(cells) > 0 && cells[0].percent {
		if h.bracket && out.unit != "%" {
			j.fault("E906", cells[0], "%s has a per cent sign, and the column is in [%s]", quote(cells[0].text), out.unit)
			return false
		}
		out.unit = "%"
	}
	return true
}

func (j *job) writeCatalog(g *region, names []string, cols []col) string {
	var b strings.Builder
	b.WriteString("catalog " + j.out.Name + " {\nname")
	for _, c := range cols[1:] {
		b.WriteString(" | " + withUnit(c.name, c.unit))
	}
	for r, row := range g.rows {
		b.WriteString("\n" + names[r])
		for i, c := range cols[1:] {
			text := row[i+1].text
			switch {
			case c.text:
				text = textCell(text)
			case c.yesNo:
				text = yesNo[strings.ToLower(text)]
			default:
				text = row[i+1].number
			}
			b.WriteString(" | " + text)
		}
	}
	b.WriteString("\n}\n")
	return b.String()
}

// textCell writes a text into a catalogue: in quotes where a sign of it would be
// read otherwise. Line ends and what can't be seen become spaces.
func textCell(s string) string {
	s = strings.Map(func(r rune) rune {
		if r == ' ' || unicode.IsPrint(r) {
			return r
		}
		return ' '
	}, strings.ToValidUTF8(s, "\uFFFD"))
	s = strings.Join(strings.Fields(s), " ")
	if s == "" || strings.ContainsAny(s, "|#{}\"\\") || syntax.IsKeyword(s) {
		return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(s) + `"`
	}
	return s
}
