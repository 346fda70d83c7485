package importer

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"fettle/lang/formula"
	"fettle/lang/syntax"
	"fettle/lang/unit"
)

// head is a name and a unit as someone wrote them.
type head struct {
	name, unit string
	bracket    bool // a unit was written
}

// headOf reads "rpm [rev/min]", "rpm (1/min)" or "rpm".
func headOf(text string) head {
	text = strings.Join(strings.Fields(marks.Replace(text)), " ")
	for _, pair := range []string{"[]", "()"} {
		rest, ok := strings.CutSuffix(text, pair[1:])
		if i := strings.Index(rest, pair[:1]); ok && i >= 0 {
			return head{strings.TrimSpace(rest[:i]), strings.TrimSpace(rest[i+1:]), true}
		}
	}
	return head{name: text}
}

// spelled are units that others write in other ways.
var spelled = map[string]string{
	"°": "deg", "°c": "degC", "°f": "degF", "℃": "degC", "℉": "degF", "celsius": "degC", "percent": "%", "pct": "%", "sec": "s", "msec": "ms",
	"µs": "us", "μs": "us", "u/min": "rpm", "r/min": "rpm", "rpm": "rpm", "1/min": "rpm", "/min": "rpm", "min-1": "rpm", "min^-1": "rpm", "min⁻¹": "rpm", "-": "", "1": "", "–": "",
}

// perMinute are spellings that mean a speed only where a speed is named.
var perMinute = map[string]bool{"1/min": true, "/min": true, "min-1": true, "min^-1": true, "min⁻¹": true}

// unit makes a unit the language's own: its text, and whether it is one.
func (j *job) unit(text, name string, c cell) (string, bool) {
	low, name := strings.ToLower(text), strings.ToLower(name)
	speed := strings.Contains(name, "rpm") || strings.Contains(name, "speed") || strings.Contains(name, "rev") || name == "n"
	fixed, known := spelled[low]
	if !known || perMinute[low] && !speed {
		fixed = strings.NewReplacer("²", "^2", "³", "^3").Replace(text)
	}
	if fixed != text {
		said := "[" + fixed + "]"
		if fixed == "" {
			said = "a plain number"
		}
		j.notef("the unit %s was read as %s", quote(text), said)
	}
	if fixed == "" {
		return "", true
	}
	if _, err := unit.Parse(fixed); err != nil {
		pe, ok := err.(*unit.ParseError)
		msg := err.Error()
		if ok {
			msg = pe.Msg
		}
		d := j.fault("E308", c, "the unit %s can't be read: %s", quote(text), msg)
		if ok && pe.Suggest != "" {
			d.Hint("did you mean `%s`?", pe.Suggest)
		}
		return "", false
	}
	return fixed, true
}

// legal makes a name of the language from any text; empty where nothing of it
// can stand in one. A name that would begin with a digit gets a letter.
func legal(text, letter string) string {
	var b strings.Builder
	gap := false
	for _, r := range norm.NFD.String(strings.NewReplacer("ß", "ss", "æ", "ae", "ø", "o", "Ø", "o", "Æ", "ae").Replace(text)) {
		switch r = unicode.ToLower(r); {
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9':
			if gap && b.Len() > 0 {
				b.WriteByte('_')
			}
			b.WriteRune(r)
			gap = false
		case unicode.Is(unicode.Mn, r): // an accent
		default:
			gap = true
		}
	}
	name := b.String()
	if name == "" {
		return ""
	}
	if name[0] >= '0' && name[0] <= '9' {
		name = letter + name
	}
	const most = 60
	if len(name) > most {
		name = strings.TrimRight(name[:most], "_")
	}
	if syntax.IsKeyword(name) || formula.IsBuiltin(name) {
		name += "_1"
	}
	return name
}

// goodName says whether a declaration may have the name.
func goodName(name string) bool {
	return syntax.IsName(name) && !syntax.IsKeyword(name) && !formula.IsBuiltin(name)
}

// name settles what the declaration is called.
func (j *job) name(fromTable string) string {
	if j.opt.Name != "" {
		return j.opt.Name
	}
	from := fromTable
	switch {
	case from != "":
	case j.manySheets:
		from = j.dial.Sheet
	case !j.opt.Pasted:
		from = baseName(j.opt.File)
	}
	name := legal(from, j.out.As[:1])
	if name == "" {
		name = "pasted"
		j.notef("it is called `%s`: `--name NAME` calls it otherwise", name)
	} else if name != from {
		j.notef("it is called `%s`, after %s: `--name NAME` calls it otherwise", name, quote(from))
	}
	return name
}

// baseName is a file's name without folders and ending.
func baseName(file string) string {
	file = file[strings.LastIndexAny(file, `/\`)+1:]
	if i := strings.LastIndexByte(file, '.'); i > 0 {
		file = file[:i]
	}
	return file
}
