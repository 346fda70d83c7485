package format_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"fettle/lang/diag"
	"fettle/lang/format"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// lawful holds a text to the law: nothing but white space differs, the same is
// read, and the layout of the result is the result.
func lawful(t testing.TB, text string) {
	t.Helper()
	in := source.New("tune.fettle", text)
	got, errs := format.Source(in)
	if errs.HasErrors() {
		if got != text {
			t.Fatalf("a file with faults was changed from\n%q\nto\n%q", text, got)
		}
		return
	}
	out := source.New("tune.fettle", got)
	if a, b := inked(text), inked(got); a != b {
		t.Fatalf("more than white space differs: from\n%s\nto\n%s", text, got)
	}
	for i, ln := range strings.SplitAfter(got, "\n") {
		body := strings.TrimSuffix(ln, "\n")
		if body != strings.TrimRight(body, " \t\r") || body == ln && ln != "" {
			t.Fatalf("line %d is badly ended: %q in\n%s", i+1, ln, got)
		}
	}
	if strings.Contains(got, "\n\n\n") || strings.HasPrefix(got, "\n") || strings.HasSuffix(got, "\n\n") {
		t.Fatalf("too many blank lines in\n%s", got)
	}
	again, errs := format.Source(out)
	if errs.HasErrors() {
		t.Fatalf("from\n%s\nto\n%s\nwhich has faults: %s", text, got, errs.Sorted()[0].Message)
	}
	if again != got {
		t.Fatalf("not idempotent: from\n%s\nto\n%s\nthen\n%s", text, show(got), show(again))
	}
	if d := cmp.Diff(tokens(in), tokens(out)); d != "" {
		t.Fatalf("other tokens: from\n%s\nto\n%s\n%s", text, got, d)
	}
	if d := cmp.Diff(meaning(in), meaning(out), places...); d != "" {
		t.Fatalf("another meaning: from\n%s\nto\n%s\n%s", text, got, d)
	}
}

// inked is a text without its white space.
func inked(s string) string {
	return strings.NewReplacer(" ", "", "\t", "", "\r", "", "\n", "").Replace(strings.TrimPrefix(s, "\xef\xbb\xbf"))
}

// tokens lists what the lexer reads. A line's end beside a brace is layout; a
// table counts by its inked text here, and by its cells in meaning.
func tokens(f *source.File) (out []string) {
	pieces, comments := syntax.Tokens(f, &diag.List{})
	for _, toks := range pieces {
		for i, t := range toks {
			switch {
			case t.Kind == syntax.Newline && (toks[i-1].Text == "{" || toks[i+1].Text == "}"):
			case t.Kind == syntax.Body:
				out = append(out, inked(t.Text))
			default:
				out = append(out, t.Text)
			}
		}
		out = append(out, "end of declaration")
	}
	for _, c := range comments {
		if c.Whole {
			out = append(out, "whole line")
		}
		out = append(out, c.Text)
	}
	return out
}

// meaning is the tree of a file, its tables read.
func meaning(f *source.File) (out []any) {
	errs := &diag.List{}
	for _, d := range syntax.Parse(f, errs).Decls {
		out = append(out, d)
		switch d := d.(type) {
		case *syntax.Map:
			if d.Body != nil {
				out = append(out, syntax.ReadGrid(f, *d.Body, errs))
			}
		case *syntax.Catalog:
			if d.Body != nil {
				out = append(out, syntax.ReadTable(f, *d.Body, errs))
			}
		}
	}
	return out
}

// places are what may differ in trees of equal meaning.
var places = []cmp.Option{
	cmpopts.IgnoreTypes(source.Span{}),
	cmpopts.IgnoreFields(syntax.Num{}, "From", "To"),
	cmp.Comparer(func(a, b syntax.Token) bool {
		return a.Kind == b.Kind && (a.Text == b.Text || a.Kind == syntax.Body && inked(a.Text) == inked(b.Text))
	}),
}

// sources are the texts of every source in the tree.
func sources(t testing.TB) map[string]string {
	t.Helper()
	root := filepath.Join("..", "..")
	out := map[string]string{}
	for _, dir := range []string{"examples", "stdlib", "testdata", filepath.Join("lang", "format", "testdata")} {
		err := filepath.WalkDir(filepath.Join(root, dir), func(path string, d fs.DirEntry, err error) error {
			if err != nil || filepath.Ext(path) != ".fettle" {
				return err
			}
			b, err := os.ReadFile(path)
			out[path] = string(b)
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if len(out) < 10 {
		t.Fatalf("only %d sources were found", len(out))
	}
	return out
}

func TestEverySourceIsLawful(t *testing.T) {
	for path, text := range sources(t) {
		t.Run(filepath.ToSlash(path), func(t *testing.T) {
			lawful(t, text)
			lawful(t, strings.ReplaceAll(text, "\n", "\r\n"))
			// Without its spaces at the lines' starts, and with too many between words.
			var rough []string
			for _, ln := range strings.Split(text, "\n") {
				rough = append(rough, strings.TrimLeft(ln, " "))
			}
			lawful(t, strings.Join(rough, "\n \t\n\n"))
		})
	}
}

// TestLayoutForgetsSpaces: sources that differ in spaces between words, at
// lines' starts and ends have one layout.
func TestLayoutForgetsSpaces(t *testing.T) {
	for path, text := range sources(t) {
		want, errs := format.Source(source.New("tune.fettle", text))
		if errs.HasErrors() {
			continue
		}
		f := source.New("tune.fettle", want)
		pieces, comments := syntax.Tokens(f, &diag.List{})
		var rough strings.Builder
		at := 0
		put := func(from, to int) {
			gap := f.Text[at:from]
			if strings.Contains(gap, "\n") {
				gap = strings.ReplaceAll(strings.ReplaceAll(gap, " ", ""), "\n", " \t\r\n")
			} else if at > 0 {
				gap = "\t  "
			}
			rough.WriteString(gap)
			rough.WriteString(f.Text[from:to])
			at = to
		}
		for _, toks := range pieces {
			for _, tok := range toks {
				for ; len(comments) > 0 && comments[0].From < tok.From; comments = comments[1:] {
					put(comments[0].From, comments[0].From+len(comments[0].Text))
				}
				if tok.Kind == syntax.Newline {
					continue
				}
				if tok.Kind == syntax.Body {
					for len(comments) > 0 && comments[0].From < tok.To() {
						comments = comments[1:]
					}
				}
				put(tok.From, tok.To())
			}
		}
		for ; len(comments) > 0; comments = comments[1:] {
			put(comments[0].From, comments[0].From+len(comments[0].Text))
		}
		got, errs := format.Source(source.New("tune.fettle", rough.String()))
		if errs.HasErrors() {
			t.Errorf("%s with other spaces has faults: %s", path, errs.Sorted()[0].Message)
		} else if got != want {
			t.Errorf("%s with other spaces: %s", path, cmp.Diff(want, got))
		}
	}
}

func FuzzSource(f *testing.F) {
	for _, c := range cases {
		f.Add(c.before)
	}
	for _, text := range sources(f) {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		lawful(t, text)
	})
}
