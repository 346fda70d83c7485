package history

import (
	"fmt"
	"strings"

	"fettle/lang/diag"
)

const (
	mostAuthor = 24 // columns of a name
	mostBy     = 72 // columns that are kept for what did it
	leastRest  = 24 // columns that a subject is worth having on a line
)

// columns are a row of the text.
type columns struct {
	who     [3]string // commit, date, author; or one text over all three
	what    string    // the value and how it changed
	by      string    // by which element, or why
	subject string
}

func (t *textWriter) rows(l *Log) {
	t.b.WriteByte('\n')
	var wide valueWidths
	for _, r := range l.Rows {
		wide.take(r)
	}
	var list []columns
	for i := 0; i < len(l.Rows); i++ {
		n := 0 // of several alike it is told which broke it, and how many were left so
		for i+1 < len(l.Rows) && l.Rows[i].alike(l.Rows[i+1]) {
			n++
			i++
		}
		r := l.Rows[i]
		c := columns{what: r.what(wide), by: r.by()}
		switch {
		case n == 1:
			c.by += "; so does " + l.Rows[i-n].Commit.Short + " after it"
		case n > 1:
			c.by += fmt.Sprintf("; so do the %d after it, up to %s", n, l.Rows[i-n].Commit.Short)
		}
		c.who[0] = "not committed yet"
		if k := r.Commit; k != nil {
			c.who = [3]string{k.Short, k.Date[:min(10, len(k.Date))], cut(diag.Clean(k.Author), mostAuthor)}
			c.subject = diag.Clean(k.Subject)
		}
		list = append(list, c)
	}
	t.table(list)
}

// alike says whether two commits, one after the other, are broken by one fault.
func (r *Row) alike(o *Row) bool {
	return r.Kind == Broken && o.Kind == Broken && r.Commit != nil && o.Commit != nil && r.Why == o.Why && r.Errors == o.Errors
}

// table prints rows in columns.
func (t *textWriter) table(list []columns) {
	var wide [3]int
	var what, by int
	for _, c := range list {
		what, by = max(what, diag.Width(c.what)), max(by, diag.Width(c.by))
		for i, text := range c.who {
			if !c.one() {
				wide[i] = max(wide[i], diag.Width(text))
			}
		}
	}
	who := 0
	for i := range list {
		c := &list[i]
		if !c.one() {
			c.who[0] = pad(c.who[0], wide[0]) + "  " + pad(c.who[1], wide[1]) + "  " + c.who[2]
		}
		who = max(who, diag.Width(c.who[0]))
	}
	apart := t.opt.Width > 0 && who+2+what+3+by+3+leastRest > t.opt.Width
	if !apart {
		by = min(by, mostBy) // longer ones push their subject aside
	}
	for _, c := range list {
		head := t.dim(pad(c.who[0], who)) + "  " + pad(c.what, what) + "   "
		at := who + 2 + what + 3
		if !apart {
			head += pad(c.by, by) + "   "
			at += max(by, diag.Width(c.by)) + 3
		}
		t.line("%s%s", head, t.rest(c.subject, at))
		if indent := wide[0] + 2; apart && c.by != "" {
			t.line("%s%s", strings.Repeat(" ", indent), t.rest(c.by, indent))
		}
	}
}

// one says whether there is but one text in the place of commit, date and
// author.
func (c *columns) one() bool { return c.who[1] == "" && c.who[2] == "" }

// rest is what of a text has room on a line after some columns.
func (t *textWriter) rest(s string, from int) string {
	if t.opt.Width <= 0 {
		return s
	}
	return cut(s, max(t.opt.Width-from, 8))
}

// cut shortens a text to some columns.
func cut(s string, columns int) string {
	if diag.Width(s) <= columns {
		return s
	}
	at := 0
	for i, r := range s {
		if at += diag.Width(string(r)); at > columns-1 {
			return strings.TrimRight(s[:i], " ") + "…"
		}
	}
	return s
}

func pad(s string, n int) string { return s + strings.Repeat(" ", max(0, n-diag.Width(s))) }

func padLeft(s string, n int) string { return strings.Repeat(" ", max(0, n-diag.Width(s))) + s }
