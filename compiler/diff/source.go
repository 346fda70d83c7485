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

// Hunk is a stretch of lines that differ, with those around it.
type Hunk struct {
	Head     string   // "@@ -1,3 +1,4 @@"
	Lines    []string // each with its sign: ' ', '-', '+', or '\\' of a note on the line before
	Old, New [2]int   // its first line and its last on either side, from 1; 0, 0 for none
}

// Source gives the line by line difference of two texts in the usual unified
// form, or "" if they are the same.
func Source(oldName, old, newName, new string) string {
	if old == new {
		return ""
	}
	var b strings.Builder
	fmt.Fprintf(&b, "--- %s\n+++ %s\n", oldName, newName)
	for _, h := range Hunks(old, new) {
		b.WriteString(h.Head + "\n")
		for _, l := range h.Lines {
			b.WriteString(l + "\n")
		}
	}
	return b.String()
}

// Hunks gives the line by line difference of two texts; none if they are the
// same.
func Hunks(old, new string) []Hunk {
	edits := lineEdits(splitLines(old), splitLines(new))
	var out []Hunk
	done := [2]int{} // lines of either side before the edit at `at`
	at := 0
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
		first, last := max(0, from-context), min(len(edits), to+1+context)
		done = count(done, edits[at:first])
		at = first
		out = append(out, hunk(done, edits[first:last]))
		from = to + 1
	}
	return out
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

// count adds the lines of some edits to those of either side.
func count(n [2]int, edits []edit) [2]int {
	for _, e := range edits {
		if e.sign != '+' {
			n[0]++
		}
		if e.sign != '-' {
			n[1]++
		}
	}
	return n
}

// hunk writes edits that stand after so many lines of either side.
func hunk(before [2]int, edits []edit) Hunk {
	var h Hunk
	length := count([2]int{}, edits)
	side := func(k int, lines *[2]int) string {
		first := before[k] + 1
		if length[k] == 0 {
			first-- // an empty side stands after the line before it
		} else {
			*lines = [2]int{first, before[k] + length[k]}
		}
		if length[k] == 1 {
			return fmt.Sprint(first)
		}
		return fmt.Sprintf("%d,%d", first, length[k])
	}
	h.Head = fmt.Sprintf("@@ -%s +%s @@", side(0, &h.Old), side(1, &h.New))
	for _, e := range edits {
		h.Lines = append(h.Lines, string(e.sign)+strings.TrimSuffix(e.text, "\n"))
		if !strings.HasSuffix(e.text, "\n") {
			h.Lines = append(h.Lines, "\\ No newline at end of file")
		}
	}
	return h
}
