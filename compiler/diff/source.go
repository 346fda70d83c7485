package diff

import (
	"fmt"
	"strings"

	"github.com/sergi/go-diff/diffmatchpatch"
)

// context is how many unchanged lines stand around a change.
const context = 3

// maxLines bounds the lines that are matched; two longer texts are shown as one
// taken out and the other put in, but for what they begin and end with alike.
const maxLines = 20_000

// Source gives the line by line difference of two texts in the usual unified
// form, or "" if they are the same.
func Source(oldName, old, newName, new string) string {
	if old == new {
		return ""
	}
	edits := lineEdits(splitLines(old), splitLines(new))
	var b strings.Builder
	fmt.Fprintf(&b, "--- %s\n+++ %s\n", oldName, newName)
	for from := 0; from < len(edits); {
		if edits[from].sign == ' ' {
			from++
			continue
		}
		// A hunk goes on while its changes stand no farther apart than their
		// contexts reach.
		to := from
		for i := from; i < len(edits) && i <= to+2*context+1; i++ {
			if edits[i].sign != ' ' {
				to = i
			}
		}
		writeHunk(&b, edits, max(0, from-context), min(len(edits), to+1+context))
		from = to + 1
	}
	return b.String()
}

// edit is a line of one or both texts: ' ', '-' or '+'.
type edit struct {
	sign byte
	text string
}

// splitLines keeps the line ends, so that a last line without one differs from
// one with it.
func splitLines(s string) []string {
	lines := strings.SplitAfter(s, "\n")
	if lines[len(lines)-1] == "" {
		lines = lines[:len(lines)-1]
	}
	return lines
}

func lineEdits(old, new []string) []edit {
	var out []edit
	put := func(sign byte, lines []string) {
		for _, l := range lines {
			out = append(out, edit{sign, l})
		}
	}
	head := 0
	for head < len(old) && head < len(new) && old[head] == new[head] {
		head++
	}
	tail := 0
	for tail < len(old)-head && tail < len(new)-head && old[len(old)-1-tail] == new[len(new)-1-tail] {
		tail++
	}
	put(' ', old[:head])
	a, b := old[head:len(old)-tail], new[head:len(new)-tail]
	if len(a) > maxLines || len(b) > maxLines {
		put('-', a)
		put('+', b)
	} else {
		dmp := diffmatchpatch.New()
		dmp.DiffTimeout = 0 // the same on a slow machine
		ra, rb, lines := dmp.DiffLinesToRunes(strings.Join(a, ""), strings.Join(b, ""))
		diffs := dmp.DiffCharsToLines(dmp.DiffMainRunes(ra, rb, false), lines)
		for _, d := range diffs {
			switch d.Type {
			case diffmatchpatch.DiffDelete:
				put('-', splitLines(d.Text))
			case diffmatchpatch.DiffInsert:
				put('+', splitLines(d.Text))
			default:
				put(' ', splitLines(d.Text))
			}
		}
	}
	put(' ', old[len(old)-tail:])
	return out
}

func writeHunk(b *strings.Builder, edits []edit, from, to int) {
	// Where the hunk starts, and how long it is, on either side.
	start, length := [2]int{}, [2]int{}
	for i, e := range edits[:to] {
		n := &start
		if i >= from {
			n = &length
		}
		if e.sign != '+' {
			n[0]++
		}
		if e.sign != '-' {
			n[1]++
		}
	}
	side := func(k int) string {
		first := start[k] + 1
		if length[k] == 0 {
			first-- // an empty side stands after the line before it
		}
		if length[k] == 1 {
			return fmt.Sprint(first)
		}
		return fmt.Sprintf("%d,%d", first, length[k])
	}
	fmt.Fprintf(b, "@@ -%s +%s @@\n", side(0), side(1))
	for _, e := range edits[from:to] {
		b.WriteByte(e.sign)
		b.WriteString(strings.TrimSuffix(e.text, "\n"))
		b.WriteByte('\n')
		if !strings.HasSuffix(e.text, "\n") {
			b.WriteString("\\ No newline at end of file\n")
		}
	}
}
