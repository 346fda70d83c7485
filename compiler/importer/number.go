package importer

import (
	"strconv"
	"strings"

	"fettle/lang/syntax"
)

// marks are what may stand between groups of three digits, beside the sign that
// isn't the decimal mark.
var marks = strings.NewReplacer("\u00a0", " ", "\u2009", " ", "\u202f", " ", "\u2019", "'")

// bare prepares a cell's text for reading as a number, and takes its per cent
// sign off.
func bare(text string) (s string, percent bool) {
	s, percent = strings.CutSuffix(marks.Replace(text), "%")
	s = strings.Trim(s, " ")
	for _, minus := range []string{"\u2212", "\u2013"} {
		if rest, ok := strings.CutPrefix(s, minus); ok {
			s = "-" + rest
		}
	}
	return s, percent
}

// asNumber reads a text with one decimal mark, and gives it as the language
// writes it, and the mark between thousands.
func asNumber(s string, decimal byte) (number string, thousands byte, ok bool) {
	if s == "" {
		return "", 0, false
	}
	sign := ""
	switch s[0] {
	case '-':
		sign, s = "-", s[1:]
	case '+':
		s = s[1:]
	}
	exponent := ""
	if i := strings.IndexAny(s, "eE"); i >= 0 {
		s, exponent = s[:i], "e"+strings.TrimPrefix(s[i+1:], "+")
	}
	whole, fraction, dot := strings.Cut(s, string(decimal))
	if whole, thousands, ok = ungroup(whole, decimal); !ok || !digits(fraction) || whole == "" && fraction == "" {
		return "", 0, false
	}
	if whole == "" {
		whole = "0"
	}
	number = sign + whole
	if dot && fraction != "" {
		number += "." + fraction
	}
	number += exponent
	_, ok = syntax.Float(number)
	return number, thousands, ok
}

func digits(s string) bool {
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return true
}

// ungroup takes the marks between thousands out: one to three digits that don't
// begin with 0, then groups of three behind one and the same mark.
func ungroup(s string, decimal byte) (whole string, mark byte, ok bool) {
	if digits(s) {
		return s, 0, true
	}
	i := strings.IndexAny(s, " ',.")
	if i < 1 || i > 3 || s[0] == '0' || s[i] == decimal {
		return "", 0, false
	}
	mark = s[i]
	groups := strings.Split(s, string(mark))
	for k, g := range groups {
		if !digits(g) || k > 0 && len(g) != 3 {
			return "", 0, false
		}
	}
	return strings.Join(groups, ""), mark, true
}

// looksNumber says whether a text is a number by either decimal mark.
func looksNumber(text string) bool {
	s, _ := bare(text)
	_, _, dot := asNumber(s, '.')
	if dot {
		return true
	}
	_, _, comma := asNumber(s, ',')
	return comma
}

// numbers settles the decimal mark and reads every number by it.
func (j *job) numbers() bool {
	decimal, ok := j.decimal()
	if !ok {
		return false
	}
	marked, groups := false, map[byte]cell{}
	for _, row := range j.rows {
		for i := range row {
			c := &row[i]
			if c.stored {
				marked = marked || strings.Contains(c.number, ".")
				continue
			}
			s, percent := bare(c.text)
			number, thousands, ok := asNumber(s, decimal)
			if !ok || c.date || c.fault {
				continue
			}
			c.number, c.percent = number, percent
			marked = marked || strings.Contains(number, ".")
			if thousands == 0 {
				continue
			}
			groups[thousands] = *c
			if len(groups) > 1 {
				for _, mark := range []byte(" ',.") {
					if first, ok := groups[mark]; ok && mark != thousands {
						j.fault("E902", *c, "%s has `%c` between thousands, and %s (%s) has `%c`", quote(c.text), thousands, quote(first.text), first.at(), mark).
							Hint("one file has one mark between thousands: mend the cell that is wrong")
						return false
					}
				}
			}
			j.dial.Thousands = string(thousands)
		}
	}
	switch {
	case !marked:
		j.dial.Decimal = "none"
	case decimal == ',':
		j.dial.Decimal = "comma"
	default:
		j.dial.Decimal = "dot"
	}
	return true
}

// evidence is a number that can be read in one way, or in two.
type evidence struct {
	cell       cell
	dot, comma string
	n          int
}

// decimal finds the file's decimal mark.
func (j *job) decimal() (byte, bool) {
	if j.opt.Decimal != "" {
		return j.opt.Decimal[0], true
	}
	var dot, comma, either evidence
	onlyDots := true // of the numbers that can be read in two ways
	keep := func(e *evidence, c cell, d, m string) {
		if e.n++; e.n == 1 {
			e.cell, e.dot, e.comma = c, d, m
		}
	}
	for _, row := range j.rows {
		for _, c := range row {
			if c.stored || !strings.ContainsAny(c.text, ".,") {
				continue
			}
			s, _ := bare(c.text)
			d, _, isDot := asNumber(s, '.')
			m, _, isComma := asNumber(s, ',')
			switch {
			case isDot && !isComma:
				keep(&dot, c, d, m)
			case isComma && !isDot:
				keep(&comma, c, d, m)
			case isDot && d != m:
				keep(&either, c, d, m)
				onlyDots = onlyDots && !strings.Contains(s, ",")
			}
		}
	}
	switch {
	case dot.n > 0 && comma.n > 0:
		j.fault("E902", comma.cell, "%s has a decimal comma, and %s (%s) has a decimal dot", quote(comma.cell.text), quote(dot.cell.text), dot.cell.at()).
			Hint("one file has one decimal mark: mend the cells that are wrong")
		return 0, false
	case comma.n > 0:
		return ',', true
	case dot.n > 0 || either.n == 0:
		return '.', true
	case onlyDots && (j.dial.Delimiter == "commas" || j.ownCorner()):
		return '.', true // the comma parts the cells; or the file is one of ours
	}
	c := either.cell
	j.fault("E902", c, "%s may be %s or %s, and no number of the file tells which", quote(c.text), either.dot, either.comma).
		Hint("`--decimal .` reads %s, `--decimal ,` reads %s", either.dot, either.comma)
	return 0, false
}

// ownCorner says whether a grid has the corner cell that this program writes.
func (j *job) ownCorner() bool {
	for _, row := range j.rows {
		for _, c := range row {
			if c.blank() {
				continue
			}
			if rows, cols, ok := strings.Cut(c.text, ` \ `); ok {
				a, b := headOf(rows), headOf(cols)
				return syntax.IsName(a.name) && syntax.IsName(b.name)
			}
			break
		}
	}
	return false
}

var months = []string{"jan", "feb", "mar", "mär", "apr", "may", "mai", "jun", "jul", "aug", "sep", "oct", "okt", "nov", "dec", "dez"}

// isDate says whether a text is a day, as a spreadsheet makes of `1-5` or `1/5`:
// a month's name and a number, or two or three numbers with signs between.
func isDate(text string) bool {
	parts := strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return strings.ContainsRune(" -/.,", r) })
	if len(parts) < 2 || len(parts) > 3 {
		return false
	}
	month, numbers := 0, 0
	for _, p := range parts {
		switch {
		case digits(p) && (len(p) <= 2 || len(p) == 4):
			numbers++
		case isMonth(p):
			month++
		default:
			return false
		}
	}
	switch {
	case month == 1:
		return true
	case month > 1 || looksNumber(text):
		return false
	case strings.Contains(text, "/"):
		return true
	case numbers == 3:
		return strings.Count(text, "-") == 2 || strings.Count(text, ".") == 2
	}
	return strings.Count(text, "-") == 1 && !strings.HasPrefix(text, "-")
}

func isMonth(word string) bool {
	for _, m := range months {
		if rest, ok := strings.CutPrefix(word, m); ok && len(rest) <= 6 && strings.Trim(rest, "abcdefghijklmnopqrstuvwxyz") == "" {
			return true
		}
	}
	return false
}

// plain writes a number that a workbook keeps as the language does: without an
// exponent where that isn't long.
func plain(text string) string {
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return ""
	}
	if x == 0 {
		return "0" // not -0
	}
	if s := strconv.FormatFloat(x, 'f', -1, 64); len(s) <= 25 {
		return s
	}
	s, _, ok := asNumber(text, '.')
	if !ok {
		return ""
	}
	return s
}

// hundredfold moves the dot two places, so that no digit changes.
func hundredfold(number string) string {
	if mantissa, exponent, ok := strings.Cut(number, "e"); ok {
		n, _ := strconv.Atoi(exponent)
		return mantissa + "e" + strconv.Itoa(n+2)
	}
	sign := ""
	if rest, ok := strings.CutPrefix(number, "-"); ok {
		sign, number = "-", rest
	}
	whole, fraction, _ := strings.Cut(number, ".")
	fraction += "00"
	whole, fraction = whole+fraction[:2], strings.TrimRight(fraction[2:], "0")
	whole = strings.TrimLeft(whole, "0")
	if whole == "" {
		whole = "0"
	}
	if fraction != "" {
		whole += "." + fraction
	}
	return sign + whole
}
