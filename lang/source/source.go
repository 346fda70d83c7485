// Package source holds the text of a workspace: files, byte offsets, lines and
// spans, and the folder (or git revision, or memory) that the text comes from.
//
// In: an fs.FS and slash-separated names. Out: File values that never change.
// Everything else in the module may import it; it imports nothing of ours.
package source

import (
	"sort"
	"strconv"
	"strings"
	"unicode/utf8"
)

// File is one text with its line starts. It never changes after New.
type File struct {
	Name  string // slash-separated, relative to the workspace; "air.fettle" of the library is "std/air.fettle"
	Text  string
	lines []int // byte offset of each line's first byte
}

// New indexes the lines of a text.
func New(name, text string) *File {
	f := &File{Name: name, Text: text, lines: make([]int, 1, strings.Count(text, "\n")+1)}
	for at := strings.IndexByte(text, '\n'); at >= 0; {
		f.lines = append(f.lines, at+1)
		next := strings.IndexByte(text[at+1:], '\n')
		if next < 0 {
			break
		}
		at += 1 + next
	}
	return f
}

// LineCount is the number of lines, at least 1.
func (f *File) LineCount() int { return len(f.lines) }

// Pos gives the line and column of a byte offset, both from 1; columns count
// characters, as an editor shows them: a byte-order mark is none.
func (f *File) Pos(off int) (line, col int) {
	off = max(0, min(off, len(f.Text)))
	line = f.line(off)
	before := f.Text[f.lines[line-1]:off]
	if line == 1 {
		before = strings.TrimPrefix(before, "\ufeff")
	}
	return line, utf8.RuneCountInString(before) + 1
}

// line is the line of a byte offset, from 1.
func (f *File) line(off int) int { return max(1, sort.SearchInts(f.lines, off+1)) }

// LineSpan gives the byte offsets of a line (from 1) without its line end.
func (f *File) LineSpan(line int) (from, to int) {
	if line < 1 || line > len(f.lines) {
		return 0, 0
	}
	from, to = f.lines[line-1], len(f.Text)
	if line < len(f.lines) {
		to = f.lines[line] - 1
	}
	if to > from && f.Text[to-1] == '\r' {
		to--
	}
	return from, to
}

// LineText is the text of a line (from 1) without its line end.
func (f *File) LineText(line int) string {
	from, to := f.LineSpan(line)
	return f.Text[from:to]
}

// Span is a range of bytes of one file. The zero Span is "no place".
type Span struct {
	File     *File
	From, To int
}

// IsZero says whether the span names no place.
func (s Span) IsZero() bool { return s.File == nil }

// Text is the source text under the span.
func (s Span) Text() string {
	if s.File == nil || s.From > s.To || s.To > len(s.File.Text) {
		return ""
	}
	return s.File.Text[s.From:s.To]
}

// Line is the line number of the span's start, from 1.
func (s Span) Line() int {
	if s.File == nil {
		return 0
	}
	return s.File.line(s.From)
}

// Cut is the span with at most n bytes of it.
func (s Span) Cut(n int) Span {
	s.To = min(s.To, s.From+n)
	return s
}

// Join is the smallest span of one file that covers both.
func (s Span) Join(o Span) Span {
	if s.File == nil {
		return o
	}
	if o.File != s.File {
		return s
	}
	return Span{s.File, min(s.From, o.From), max(s.To, o.To)}
}

// String reads "tune.fettle:52", the form used in chains and diffs.
func (s Span) String() string {
	if s.File == nil {
		return ""
	}
	var b strings.Builder
	b.WriteString(s.File.Name)
	b.WriteByte(':')
	line := s.Line()
	b.WriteString(strconv.Itoa(line))
	return b.String()
}

// OneLine folds a text's white space and drops its comments, for quoting a
// source in a sentence.
func OneLine(s string) string {
	lines := strings.Split(s, "\n")
	for i, l := range lines {
		if k := strings.IndexByte(l, '#'); k >= 0 && len(lines) > 1 {
			lines[i] = l[:k]
		}
	}
	return strings.Join(strings.Fields(strings.Join(lines, " ")), " ")
}
