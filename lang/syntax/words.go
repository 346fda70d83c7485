package syntax

import (
	"fmt"
	"strings"
)

// What is said of text that can't be parsed at all: stray characters, lines
// that begin with no word of the language, blocks inside blocks.

// badToken reports characters that belong to no token; true if there are any.
func (p *parsing) badToken(toks []Token) bool {
	found := false
	for _, t := range toks {
		if t.Kind != Bad {
			continue
		}
		found = true
		if t.Text == "[" {
			continue // reported when it was read
		}
		d := p.errs.Add("E107", t.Span(p.file), "`%s` has no meaning here", printable(t.Text))
		if fix, ok := lookalikes[t.Text]; t.Text == "'" && t.From > 0 && isDigit(p.file.Text[t.From-1]) {
			d.Hint("feet are written `ft`, inches `[in]`")
		} else if ok {
			d.Suggest(t.Span(p.file), fix, "write `%s`", strings.TrimSpace(fix))
		} else if t.Text == "?" {
			d.Hint("a choice is written `if CONDITION then VALUE else VALUE`")
		} else if t.Text == "\\" {
			d.Hint("`\\` parts the two axes in the first line of a map's grid")
		}
	}
	return found
}

var lookalikes = map[string]string{
	"≤": "<=", "≥": ">=", "≠": "!=", "×": "*", "·": "*", "÷": "/", "−": "-", "–": "-", "—": "-", "…": "..", "→": "..",
	"“": `"`, "”": `"`, "„": `"`, "'": `"`, "’": `"`, "°": " deg", "℃": " degC", "℉": " degF", "|": "or", "&": "and", "!": "not ",
	"²": "^2", "³": "^3", "‰": "/ 1000",
}

func printable(s string) string {
	for _, r := range s {
		if r < ' ' || r == 0x7f || r == 0xfffd || r >= 0x200b && r <= 0x200f || r >= 0x202a && r <= 0x202e || r >= 0x2066 && r <= 0x2069 {
			return codePoint(r)
		}
	}
	return s
}

func codePoint(r rune) string { return fmt.Sprintf("U+%04X", r) }

// notADeclaration words what is wrong with a line that begins with no word of
// the language.
func (p *parsing) notADeclaration(toks []Token) {
	first := toks[0]
	at := first.Span(p.file)
	d := p.errs.Add("E102", at, "`%s` doesn't begin a declaration", clip(first.Text))
	second := ""
	if len(toks) > 1 {
		second = toks[1].Text
	}
	switch {
	case first.Text == "trim" || first.Text == "except":
		d.Hint("`%s` stands inside the braces of a variant", first.Text)
	case first.Text == "compensates":
		d.Hint("`%s` stands inside the braces of a target", first.Text)
	case first.Text == "allow":
		d.Hint("`allow` stands inside the braces of a review: `%s`", forms["review"])
	case first.Text == "differs" || first.Text == "jump":
		d.Hint("`%s` stands inside the braces of a bundle", first.Text)
	case first.Kind == Word && (second == "+=" || second == "-=" || second == "*=" || second == "/="):
		d.Hint("an adjustment stands in a rule: `rule NAME { %s %s … }`", clip(first.Text), second)
	case first.Kind == Word && second == "=":
		d.Hint("a named value begins with `let`, a condition with `given`; a variant's settings stand inside its braces")
	case first.Text == "when" || first.Text == "if":
		d.Hint("a condition belongs to a rule: `rule NAME when … { … }`")
	case first.Text == "{" || first.Text == "(":
		d.Hint("it belongs behind the word that it serves, on that line")
	default:
		d.Hint("a line outside braces begins with one of: %s", strings.Join(declWords, ", "))
	}
}

// innerBlock reports a block inside another.
func (p *parsing) innerBlock(outer string, before []Token, brace Token) {
	if len(before) == 0 {
		p.errs.Add("E101", brace.Span(p.file), "a second `{`: %s has one block", article(outer)).Hint("each of its statements stands on a line of its own")
		return
	}
	at, first := before[0].Span(p.file), before[0].Text
	switch {
	case isDecl[first]:
		p.errs.Add("E101", at, "%s can't stand inside %s", article(first), article(outer)).Hint("close the braces of the outer one first")
	case first == "if" || first == "when" || first == "unless" || first == "where":
		d := p.errs.Add("E101", at, "a condition holds for a whole rule, or for the cells of one adjustment")
		d.Hint("write `rule NAME when … { … }`, or `where …` behind the adjustment")
	default:
		p.errs.Add("E101", brace.Span(p.file), "a `{` inside a block").Hint("blocks don't stand inside blocks: close the outer one first")
	}
}

func clip(s string) string {
	if i := strings.IndexByte(s, '\n'); i >= 0 {
		s = s[:i]
	}
	if len(s) > 40 {
		s = strings.ToValidUTF8(s[:40], "") + "…" // a character may have been cut in two
	}
	return s
}

func article(what string) string {
	switch what[0] {
	case 'f':
		return "a function"
	case 'a', 'e':
		return "an " + what
	}
	return "a " + what
}

// forms shows how each declaration and statement is written.
var forms = map[string]string{
	"use":              `use air, injection`,
	"axis":             `axis NAME [unit] LOW..HIGH`,
	"given":            `given NAME [unit] = VALUE within LOW..HIGH`,
	"let":              `let NAME = VALUE`,
	"fn":               `fn NAME(PARAMETER [unit], …) = EXPRESSION`,
	"catalog":          `catalog NAME { name | column [unit] … }`,
	"curve":            `curve NAME [unit] { QUANTITY [unit] | POINTS … }`,
	"map":              `map NAME [unit] to STEP { GRID }`,
	"map like":         `map NAME [unit] to STEP like OTHER = EXPRESSION`,
	"region":           `region NAME = AXIS LOW..HIGH feather WIDTH, …`,
	"rule":             `rule NAME when CONDITION corrects GIVEN, … { MAP += AMOUNT over AXIS LOW..HIGH }`,
	"limit":            `limit NAME: MAP <= VALUE when CONDITION for GIVEN LOW..HIGH, … else warn`,
	"variant":          `variant NAME from OTHER { GIVEN = VALUE }`,
	"variants":         `variants NAME { GIVEN = VALUE, VALUE, … }`,
	"check":            `check "TITLE" with VARIANT { MAP(POINT, POINT) == VALUE +- TOLERANCE }`,
	"review":           `review { allow MAP = AMOUNT }`,
	"target":           `target NAME { table NAME = MAP as u16 step STEP at AXIS POINT, POINT, … }`,
	"bundle":           `bundle NAME for TARGET { 1 = TUNE … }`,
	"caution":          `caution "SENTENCE"`,
	"adjustment":       `MAP += AMOUNT over AXIS LOW..HIGH feather WIDTH where CONDITION`,
	"setting":          `GIVEN = VALUE`,
	"allowance":        `allow MAP = AMOUNT`,
	"line of a target": `table NAME = MAP as u16 step STEP offset OFFSET at AXIS POINT, …, AXIS LOW..HIGH by STEP`,
	"line of a bundle": "NUMBER = TUNE`, `differs GIVEN, …` or `jump MAP = AMOUNT",
	"expectation":      `MAP(POINT, POINT) == VALUE +- TOLERANCE`,
}
