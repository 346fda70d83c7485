package workbook

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf16"
)

// maxText is how long a cell's text may be; the rest is cut off.
const maxText = 32000

// Harmless gives a text that no spreadsheet runs: one that begins as a formula
// does, and isn't a number, gets an apostrophe before it. What can't be printed
// is left out, as it could break the file or hide something.
func Harmless(text string) string {
	text = strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || unicode.IsPrint(r):
			return r
		case unicode.IsSpace(r):
			return ' '
		}
		return -1
	}, strings.ToValidUTF8(text, "\uFFFD"))
	if runes := []rune(text); len(runes) > maxText {
		text = string(runes[:maxText])
	}
	start := strings.TrimLeft(text, " \n")
	if start == "" || !strings.ContainsRune("=+-@", rune(start[0])) {
		return text
	}
	if _, err := strconv.ParseFloat(start, 64); err == nil {
		return text // a negative number
	}
	return "'" + text
}

// names hands out the names of a workbook's sheets.
type names struct {
	taken map[string]bool
}

// maxName is how many UTF-16 units a sheet's name may have.
const maxName = 31

// fit makes a name one that a sheet may have, and that no other sheet has.
func (n *names) fit(name string) string {
	if n.taken == nil {
		n.taken = map[string]bool{"history": true} // a spreadsheet keeps it for itself
	}
	name = strings.Map(func(r rune) rune {
		switch {
		case strings.ContainsRune(`[]:*?/\`, r):
			return '-'
		case r == '\'' || unicode.IsSpace(r):
			return ' '
		case !unicode.IsPrint(r) || r == unicode.ReplacementChar:
			return -1
		}
		return r
	}, name)
	name = strings.TrimSpace(name)
	if name == "" {
		name = "sheet"
	}
	for i := 1; ; i++ {
		end := ""
		if i > 1 {
			end = fmt.Sprintf(" (%d)", i)
		}
		try := strings.TrimSpace(cut(name, maxName-len(end))) + end
		if key := strings.ToLower(try); !n.taken[key] {
			n.taken[key] = true
			return try
		}
	}
}

// cut keeps the first characters of a text, as many as n UTF-16 units hold.
func cut(text string, n int) string {
	for i, r := range text {
		if n -= len(utf16.Encode([]rune{r})); n < 0 {
			return text[:i]
		}
	}
	return text
}

// Quoted is a sheet's name as a formula writes it: plain where it is a word that
// is too long to be the name of a column, else in quotes.
func Quoted(sheet string) string {
	if len(sheet) > 3 && strings.Trim(sheet, "abcdefghijklmnopqrstuvwxyz") == "" && sheet != "true" && sheet != "false" {
		return sheet
	}
	return "'" + strings.ReplaceAll(sheet, "'", "''") + "'"
}
