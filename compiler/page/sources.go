package page

import (
	"strings"

	"fettle/compiler/diff"
	"fettle/compiler/review"
	"fettle/lang/diag"
)

// How much of what has no bounds is told: rows of a list, lines of source, bytes
// of a line.
const (
	mostRows  = 300
	mostLines = 1500
	mostLine  = 500
)

// cuts are what there is too much of to be told.
type cuts []string

// text says what isn't told, and what tells it.
func (c cuts) text() string {
	if len(c) == 0 {
		return ""
	}
	return "Not told here, since there is so much of it: " + enumerated(c) + "."
}

// capped is a list up to so many; the others are counted.
func capped[T any](list []T, most int, what string, cut *cuts) []T {
	if len(list) <= most {
		return list
	}
	*cut = append(*cut, plain(float64(len(list)-most), 0)+" more "+what)
	return list[:most]
}

type changeRow struct{ Name, Place, Why, Moves string }

func changeRowOf(c *review.Change) changeRow {
	row := changeRow{Name: clean(c.Name), Place: clean(diff.PlacesText(c.Places)), Why: clean(c.Why), Moves: "moves no cell"}
	if c.Tunes > 0 {
		var maps []string
		for _, m := range c.Maps {
			maps = append(maps, clean(m))
		}
		row.Moves = counted(c.Tunes, "tune") + ": " + enumerated(maps)
	}
	return row
}

// sourceFile is what differs in a file's text.
type sourceFile struct {
	Name, Was, State string
	Hunks            []hunk
}

type hunk struct {
	Head  string
	By    string
	Lines []sourceLine
}

type sourceLine struct {
	Class string
	Parts []linePart
}

// linePart is a part of a line, marked where it differs from what it takes the
// place of.
type linePart struct {
	Text   string
	Marked bool
}

// sourcesOf tells of the files, up to so many lines of all.
func sourcesOf(list []*review.SourceDiff, cut *cuts) []sourceFile {
	var out []sourceFile
	told, untold := 0, 0
	for _, s := range list {
		f := sourceFile{Name: clean(s.Name), Was: clean(s.OldName), State: s.State}
		for _, h := range s.Hunks {
			if told+len(h.Lines) > mostLines {
				untold += len(h.Lines)
				continue
			}
			told += len(h.Lines)
			f.Hunks = append(f.Hunks, hunkOf(h))
		}
		out = append(out, f)
	}
	if untold > 0 {
		*cut = append(*cut, counted(untold, "line")+" of changed source")
	}
	return out
}

func hunkOf(h review.Hunk) hunk {
	out := hunk{Head: clean(h.Head), By: "moves no cell"}
	if len(h.By) > 0 {
		var names []string
		for _, n := range h.By {
			names = append(names, clean(n))
		}
		out.By = "moves cells as " + enumerated(names)
	}
	marks := h.Marks()
	for i, l := range h.Lines {
		line := sourceLine{Parts: partsOf([]rune(diag.Clean(strings.ReplaceAll(l, "\t", "    "))), marks[i])}
		switch {
		case strings.HasPrefix(l, "+"):
			line.Class = "add"
		case strings.HasPrefix(l, "-"):
			line.Class = "del"
		}
		out.Lines = append(out.Lines, line)
	}
	return out
}

// partsOf parts a line at what is marked in it, and leaves out what is too long.
func partsOf(line []rune, marks [][2]int) (out []linePart) {
	add := func(from, to int, marked bool) {
		if to = min(to, mostLine); from < to {
			out = append(out, linePart{string(line[from:to]), marked})
		}
	}
	at := 0
	for _, m := range marks {
		add(at, m[0], false)
		add(m[0], m[1], true)
		at = m[1]
	}
	add(at, len(line), false)
	if len(line) > mostLine {
		out = append(out, linePart{" …", false})
	}
	return out
}
