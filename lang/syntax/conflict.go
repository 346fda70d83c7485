package syntax

import (
	"strings"

	"fettle/lang/diag"
	"fettle/lang/source"
)

// Conflicts reports the conflicts that a merge left in a text, source or CSV: no
// line of either can begin like their markers. Nothing else that could be said
// of such a text would help.
func Conflicts(f *source.File, errs *diag.List) bool {
	found := conflicts(f)
	for _, c := range found {
		first, last := lineSpan(f, c[0]), lineSpan(f, c[1])
		d := errs.Add("E111", first, "a merge left a conflict here")
		if c[0] == c[1] {
			d.Hint("this line is what is left of it: settle what belongs here, and take the line out")
			continue
		}
		d.Note(last, "it goes to here").
			Hint("ours, base and theirs stand between the markers: keep what is right of them, and take the rest and the markers out")
	}
	return len(found) > 0
}

func lineSpan(f *source.File, line int) source.Span {
	from, to := f.LineSpan(line)
	return source.Span{File: f, From: from, To: to}
}

// conflicts gives the first and the last line of each conflict, and of what is
// left of one.
func conflicts(f *source.File) (out [][2]int) {
	if !strings.Contains(f.Text, "<<<<<<<") && !strings.Contains(f.Text, "|||||||") && !strings.Contains(f.Text, "=======") && !strings.Contains(f.Text, ">>>>>>>") {
		return nil
	}
	for line := 1; line <= f.LineCount(); line++ {
		sign := marker(f.LineText(line))
		if sign == 0 {
			continue
		}
		end := line
		for l := line + 1; sign == '<' && l <= f.LineCount(); l++ {
			if s := marker(f.LineText(l)); s == '<' {
				break
			} else if s == '>' {
				end = l
				break
			}
		}
		out = append(out, [2]int{line, end})
		line = end
	}
	return out
}

// outsideConflicts reads what a file uses and the names that it declares, so
// that the other files are read and nobody is told that there is no such name.
func outsideConflicts(f *source.File) *File {
	text := []byte(f.Text)
	for _, c := range conflicts(f) {
		from, to := lineSpan(f, c[0]).From, lineSpan(f, c[1]).To
		for i := from; i < to; i++ {
			if text[i] != '\n' {
				text[i] = ' '
			}
		}
	}
	tree := Parse(source.New(f.Name, string(text)), &diag.List{})
	out := &File{Source: f, Partial: true}
	for _, d := range tree.Decls {
		if _, ok := d.(*Use); !ok {
			d = &Broken{*d.Header()}
		}
		out.Decls = append(out.Decls, d)
	}
	return out
}

// marker gives the sign of a conflict marker, 0 for any other line.
func marker(line string) byte {
	const least = 7
	if len(line) < least || strings.IndexByte("<|=>", line[0]) < 0 {
		return 0
	}
	rest := strings.TrimLeft(line, line[:1])
	if len(line)-len(rest) < least || rest != "" && rest[0] != ' ' {
		return 0
	}
	return line[0]
}
