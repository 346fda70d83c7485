package form

import (
	"crypto/sha256"
	"encoding/hex"
	"strconv"
	"strings"
	"unicode"

	"fettle/compiler/emit"
)

// identifier makes of any text a part of a C identifier.
func identifier(text string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(text) {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9':
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "_"):
			b.WriteByte('_')
		}
	}
	name := strings.TrimRight(b.String(), "_")
	if name == "" || name[0] >= '0' && name[0] <= '9' {
		name = strings.TrimRight("t_"+name, "_")
	}
	return name
}

// minTune is the least that is kept of a tune's name, with its digest.
const minTune = 16

// prefixOf gives what the names of a header begin with: the tune, a bundle's slot,
// the target. A tune's name that leaves too little room for its tables' is cut,
// and ends with a digest, so that it is still no other's.
func prefixOf(c *emit.Content) string {
	rest := "_"
	if c.Input.Slot > 0 {
		rest = "_slot_" + strconv.Itoa(c.Input.Slot) + rest
	}
	if c.Target != "" {
		rest += identifier(c.Target) + "_"
	}
	room := maxIdentifier
	for i := range c.Tables {
		t := &c.Tables[i]
		for _, a := range t.Axes() {
			ending := max(len("_axis_"+identifier(a.Name)), len("_offset"))
			room = min(room, maxIdentifier-len(rest)-len(identifier(t.Name))-ending)
		}
	}
	tune := identifier(c.About.Name)
	if room = max(room, minTune); len(tune) > room {
		tune = strings.TrimRight(tune[:room-9], "_") + "_" + short(c.About.Name)
	}
	return tune + rest
}

// short is a digest of a text in eight letters and digits.
func short(text string) string {
	sum := sha256.Sum256([]byte(text))
	return hex.EncodeToString(sum[:4])
}

// maxIdentifier is how many characters of a name C99 promises to tell apart.
const maxIdentifier = 63

// cNames hands out the names of one header, each once. Every name has an ending,
// so none is a keyword of C.
type cNames struct {
	taken map[string]bool
}

// fit gives base and ending as one name that wasn't given before.
func (n *cNames) fit(base, ending string) string {
	if n.taken == nil {
		n.taken = map[string]bool{}
	}
	if len(ending) > maxIdentifier/2 {
		ending = ending[:maxIdentifier/2]
	}
	for i := 1; ; i++ {
		count := ""
		if i > 1 {
			count = "_" + strconv.Itoa(i)
		}
		name := base[:min(len(base), maxIdentifier-len(ending)-len(count))] + count + ending
		if !n.taken[name] {
			n.taken[name] = true
			return name
		}
	}
}

// inComment makes a line one that no comment can end at or begin in, nor splice
// to the next, and in which nothing is hidden.
func inComment(text string) string {
	text = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsPrint(r) && r != unicode.ReplacementChar:
			return r
		case unicode.IsSpace(r):
			return ' '
		}
		return -1
	}, text)
	for _, pair := range []string{"*/", "/*", "??"} { // the last begins a trigraph
		for strings.Contains(text, pair) {
			text = strings.ReplaceAll(text, pair, pair[:1]+" "+pair[1:])
		}
	}
	if strings.HasSuffix(text, `\`) {
		text += "."
	}
	return text
}
