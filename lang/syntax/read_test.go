package syntax

import (
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"github.com/alecthomas/participle/v2"
	"github.com/alecthomas/participle/v2/lexer"

	"fettle/lang/diag"
	"fettle/lang/source"
)

// What is read by hand is what the grammar makes of it, in every source of the
// repository, sound or not; and nearly all that is sound is read by hand.
func TestReadersAgreeWithTheGrammar(t *testing.T) {
	texts := append([]string(nil), seeds...)
	err := filepath.WalkDir("../..", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		switch filepath.Ext(name) {
		case ".fettle", ".txtar", ".md":
			b, err := os.ReadFile(name)
			texts = append(texts, string(b))
			return err
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	read, refused := 0, 0
	for _, text := range texts {
		h, r := bothWays(t, text)
		read, refused = read+h, refused+r
	}
	if read < 5000 || refused > 0 {
		t.Errorf("%d heads and statements were read by hand, and %d that the grammar takes were not", read, refused)
	}
}

// bothWays reads the heads and statements of a text by hand and by participle.
func bothWays(t interface {
	Helper()
	Fatalf(string, ...any)
}, text string) (read, refused int) {
	t.Helper()
	f := source.New("tune.fettle", text)
	pieces, _, _ := lexFile(f, &diag.List{})
	p := &parsing{file: f, errs: &diag.List{}}
	note := func(h, r int) { read, refused = read+h, refused+r }
	for _, pc := range pieces {
		head, stmts, _, _ := p.cut(pc)
		note(compare(t, (*reader).head, headParser, head))
		for _, s := range stmts {
			note(compare(t, (*reader).adjust, adjustParser, s))
			note(compare(t, (*reader).setting, settingParser, s))
			note(compare(t, (*reader).expect, expectParser, s))
			note(compare(t, (*reader).allow, allowParser, s))
			note(compare(t, (*reader).targetLine, targetLineParser, s))
			note(compare(t, (*reader).bundleLine, bundleLineParser, s))
		}
	}
	return read, refused
}

func compare[T any](t interface {
	Helper()
	Fatalf(string, ...any)
}, by func(*reader) *T, parser func() *participle.Parser[T], toks []Token) (read, refused int) {
	t.Helper()
	hand := byHand(by, toks)
	lex, err := lexer.Upgrade(&replay{toks, 0})
	var node *T
	if err == nil {
		node, err = parser().ParseFromLexer(lex)
	}
	var text strings.Builder
	for _, tok := range toks {
		text.WriteString(tok.Text + " ")
	}
	switch {
	case hand == nil && err == nil:
		return 0, 1
	case hand == nil:
		return 0, 0
	case err != nil:
		t.Fatalf("%s\nis read by hand, and refused by the grammar: %v", text.String(), err)
	case !reflect.DeepEqual(hand, node):
		t.Fatalf("%s\nby hand: %+v\nby the grammar: %+v", text.String(), hand, node)
	}
	return 1, 0
}
