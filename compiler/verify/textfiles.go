package verify

import (
	"fmt"
	"path"
	"strings"

	"fettle/lang/source"
)

// is is the verb of the answer: a folder with files that were changed has a
// tune's tables and yet isn't it.
func (r *Result) is() string {
	if len(r.Read.Changed()) > 0 {
		return "has the tables of"
	}
	return "is"
}

func (r *Result) but() string {
	switch n := len(r.Read.Changed()); n {
	case 0:
		return ""
	case 1:
		return ", but a file was changed since it was written"
	default:
		return fmt.Sprintf(", but %d files were changed since they were written", n)
	}
}

// about says which files were looked at, which weren't, and which aren't as they
// were written. Of a single file that needs no saying.
func (r *Read) about(b *strings.Builder) {
	if r.Folder {
		fmt.Fprintf(b, "looked at: %s\n", fileList(r.Files))
	}
	for _, f := range r.Over {
		text := source.OneLine(f.Name)
		if f.Why != "" {
			text += ": " + source.OneLine(f.Why)
		}
		if f.State == AsWritten {
			text += "; its SHA-256 is the one in " + f.By
		}
		fmt.Fprintf(b, "not looked at: %s\n", text)
	}
	for _, f := range r.Missing {
		fmt.Fprintf(b, "not here: %s, which %s lists\n", source.OneLine(f.Name), f.By)
	}
	for _, f := range r.Changed() {
		fmt.Fprintf(b, "changed: %s, whose SHA-256 isn't the one in %s\n", source.OneLine(f.Name), f.By)
	}
}

// fileList names files, those of one ending in one folder as a number where they
// are many.
func fileList(list []File) string {
	const few = 4
	kind := func(f File) string { return path.Join(path.Dir(f.Name), "*"+path.Ext(f.Name)) }
	n := map[string]int{}
	for _, f := range list {
		n[kind(f)]++
	}
	var out []string
	said := map[string]bool{}
	for _, f := range list {
		switch k := kind(f); {
		case n[k] <= few:
			out = append(out, f.Name)
		case !said[k]:
			said[k] = true
			out = append(out, fmt.Sprintf("%d files %s", n[k], k))
		}
	}
	return source.OneLine(strings.Join(out, ", "))
}
