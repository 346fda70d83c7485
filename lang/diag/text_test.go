package diag

import (
	"bytes"
	"fmt"
	"regexp"
	"strings"
	"testing"
	"unicode"

	"pgregory.net/rapid"

	"fettle/lang/source"
)

// spanOf is the place of a text's only occurrence in a file.
func spanOf(t *testing.T, f *source.File, text string) source.Span {
	t.Helper()
	if strings.Count(f.Text, text) != 1 {
		t.Fatalf("%q doesn't stand once in the text", text)
	}
	i := strings.Index(f.Text, text)
	return source.Span{File: f, From: i, To: i + len(text)}
}

func render(l *List, opt TextOptions) string {
	var b bytes.Buffer
	Text(&b, l.Sorted(), opt)
	return b.String()
}

func check(t *testing.T, got, want string) {
	t.Helper()
	if want = strings.TrimPrefix(want, "\n"); got != want {
		t.Errorf("got:\n%s\nwant:\n%s", got, want)
	}
}

func TestText(t *testing.T) {
	f := source.New("tune.fettle", "catalog pipes {\n\tname\t| tuned\n}\ngiven pipe from pipse = stock\nmap fuel [mg] { # open\n  rpm | 3000\n      | 1\n")
	l := &List{}
	l.Add("E409", spanOf(t, f, "pipse"), "there is no `pipse`").
		Note(spanOf(t, f, "pipes"), "a catalogue is declared here").Note(source.Span{}, "names are lower case").
		Suggest(spanOf(t, f, "pipse"), "pipes", "did you mean `pipes`?")
	l.Add("E103", source.Span{File: f, From: strings.Index(f.Text, "map"), To: len(f.Text)}, "never closed").Hint("add the `}`")
	l.Add("W001", spanOf(t, f, "tuned"), "a tab stands before this")
	l.Add("E401", source.Span{}, "there is no file \"tune.fettle\"")
	check(t, render(l, TextOptions{See: "fettle help"}), `
error E401: there is no file "tune.fettle"
  see: fettle help E401

warning W001: a tab stands before this
  tune.fettle:2:9
    2 |     name    | tuned
      |               ^^^^^
  see: fettle help W001

error E409: there is no `+"`pipse`"+`
  tune.fettle:4:17
    4 | given pipe from pipse = stock
      |                 ^^^^^ did you mean `+"`pipes`"+`?
  note: a catalogue is declared here
  tune.fettle:1:9
    1 | catalog pipes {
      |         ^^^^^
  note: names are lower case
  see: fettle help E409

error E103: never closed
  tune.fettle:5:1
    5 | map fuel [mg] { # open
      | ^^^^^^^^^^^^^^^ … to line 7
  hint: add the `+"`}`"+`
  see: fettle help E103

3 errors, 1 warning
`)
	if got := render(&List{}, TextOptions{}); got != "" {
		t.Errorf("no diagnostics are written as %q", got)
	}
}

func TestTextPlaces(t *testing.T) {
	long := strings.Repeat("a1 + ", 40) + "WRONG" + strings.Repeat(" + b2", 40)
	for _, tt := range []struct{ name, text, at, want string }{
		{"wide characters take two columns", "燃料 = x", "x", "    1 | 燃料 = x\n      |        ^\n"},
		{"marks without width take none", "e\u0301e\u0301 = x", "x", "    1 | e\u0301e\u0301 = x\n      |      ^\n"},
		{"escapes are spelled out", "a\x1b[2J = x", "x", "    1 | a<U+001B>[2J = x\n      |                ^\n"},
		{"so are marks of direction", "a\u202e = x", "x", "    1 | a<U+202E> = x\n      |             ^\n"},
		{"and broken text", "a\xff = x", "x", "    1 | a<?> = x\n      |        ^\n"},
		{"a byte-order mark isn't shown", "\ufeffab = x", "x", "    1 | ab = x\n      |      ^\n"},
		{"a long line is cut around the fault", long, "WRONG",
			"    1 | … a1 + a1 + a1 + WRONG + b2 + b2 + b2 + b2 + b2 + b…\n      |                  ^^^^^\n"},
		{"a fault longer than the line is cut too", "x" + strings.Repeat("y", 99) + "x", strings.Repeat("y", 99),
			"    1 | x" + strings.Repeat("y", 49) + "…\n      |  " + strings.Repeat("^", 49) + "\n"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			f := source.New("a.fettle", tt.text)
			l := &List{}
			l.Add("E101", spanOf(t, f, tt.at), "wrong")
			_, got, _ := strings.Cut(render(l, TextOptions{Width: 60}), "\n")
			_, got, _ = strings.Cut(got, "\n")
			check(t, strings.TrimSuffix(got, "\n1 error\n"), tt.want)
		})
	}
	f := source.New("a.fettle", "let a =\nlet b = 1")
	l := &List{}
	l.Add("E101", source.Span{File: f, From: 7, To: 7}, "the end of a line")
	check(t, render(l, TextOptions{}), "error E101: the end of a line\n  a.fettle:1:8\n    1 | let a =\n      |        ^\n\n1 error\n")
}

// TestTextMessage: what a message quotes of a source is spelled out as well.
func TestTextMessage(t *testing.T) {
	f := source.New("a\x1b.fettle", "x")
	l := &List{}
	l.Add("E101", spanOf(t, f, "x"), "there is no `a\x1b[2J\u202e\nb`").Hint("\x1b[2J")
	if got := render(l, TextOptions{}); strings.ContainsAny(got, "\x1b\u202e") {
		t.Errorf("sent raw: %q", got)
	}
}

func TestTextColor(t *testing.T) {
	f := source.New("a.fettle", "let a = 1\nlet b = 2\n")
	l := &List{}
	l.Add("E406", spanOf(t, f, "b"), "wrong").Note(spanOf(t, f, "a"), "the other").Hint("mend it")
	l.Add("W001", spanOf(t, f, "2"), "odd")
	plain, colored := render(l, TextOptions{}), render(l, TextOptions{Color: true})
	if strings.Contains(plain, "\x1b") {
		t.Errorf("colour where none is wanted: %q", plain)
	}
	if bare := regexp.MustCompile("\x1b\\[[0-9;]*m").ReplaceAllString(colored, ""); bare != plain || colored == plain {
		t.Errorf("without its colours the text is\n%s\nand not\n%s", bare, plain)
	}
	for _, want := range []string{"\x1b[1;31merror E406:\x1b[0m", "\x1b[1;33mwarning W001:\x1b[0m", "\x1b[1;34mnote:\x1b[0m"} {
		if !strings.Contains(colored, want) {
			t.Errorf("%q is missing in %q", want, colored)
		}
	}
}

func TestTextManyErrors(t *testing.T) {
	f := source.New("a.fettle", strings.Repeat("x", 3*MaxShown))
	l := &List{}
	for i := range MaxShown + 2 {
		l.Add("E101", source.Span{File: f, From: i, To: i + 1}, "fault %d", i)
	}
	l.Add("W001", source.Span{File: f, From: 2 * MaxShown, To: 2*MaxShown + 1}, "odd")
	got := render(l, TextOptions{})
	if n := strings.Count(got, "error E101"); n != MaxShown {
		t.Errorf("%d errors are written out", n)
	}
	if want := fmt.Sprintf("… and 2 more errors\n%d errors, 1 warning\n", MaxShown+2); !strings.HasSuffix(got, want) {
		t.Errorf("the end is %q", got[max(0, len(got)-100):])
	}
}

// TestExcerpt: whatever stands in a line, what is shown of it fits the terminal,
// holds nothing that a terminal obeys, and the marks stand under the fault.
func TestExcerpt(t *testing.T) {
	letters := rapid.SampledFrom([]rune("ab =\t\t料界\u0301\u200b\u202e\x1b\x07\u00a0“é"))
	rapid.Check(t, func(t *rapid.T) {
		before := string(rapid.SliceOfN(letters, 0, 80).Draw(t, "before"))
		fault := string(rapid.SliceOfN(rapid.SampledFrom([]rune("XYZ")), 1, 50).Draw(t, "fault"))
		after := string(rapid.SliceOfN(letters, 0, 80).Draw(t, "after"))
		room := rapid.IntRange(20, 120).Draw(t, "room")
		f := source.New("a", before+fault+after)
		ex := excerptOf(source.Span{File: f, From: len(before), To: len(before) + len(fault)}, room)
		at := 0
		var under strings.Builder
		for _, r := range ex.text {
			if unicode.IsControl(r) || unicode.Is(unicode.Cf, r) {
				t.Fatalf("%q is sent raw", r)
			}
			_, wide := spell(r, 1)
			if wide > 0 && at >= ex.indent && at < ex.indent+ex.marks {
				under.WriteRune(r)
			}
			at += wide
		}
		if at > room {
			t.Fatalf("%d columns in a room of %d: %q", at, room, ex.text)
		}
		if got := under.String(); !strings.HasPrefix(fault, got) || got == "" {
			t.Fatalf("the marks stand under %q, the fault is %q, in %q", got, fault, ex.text)
		}
	})
}
