package page_test

import (
	"io/fs"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"fettle/compiler"
	"fettle/compiler/page"
	"fettle/compiler/review"
	"fettle/examples"
	"fettle/lang/diag"
	"fettle/lang/source"
)

// edit replaces a text in a file of a workspace.
type edit struct{ file, from, to string }

// texts reads an example's files, with some texts replaced. A file named for the
// first time is added.
func texts(t testing.TB, example string, edits ...edit) source.Memory {
	t.Helper()
	files, err := examples.Sources(filepath.Join("..", "..", "examples", example))
	if err != nil {
		t.Fatal(err)
	}
	out := source.Memory(files)
	for _, e := range edits {
		if strings.Count(out[e.file], e.from) != 1 && e.from != "" {
			t.Fatalf("%s holds %q %d times", e.file, e.from, strings.Count(out[e.file], e.from))
		}
		out[e.file] = strings.Replace(out[e.file], e.from, e.to, 1)
	}
	return out
}

// open compiles a workspace, which must have no errors.
func open(t testing.TB, fsys fs.FS) *compiler.Workspace {
	t.Helper()
	w := compiler.Open(fsys)
	for _, d := range w.Diags.Sorted() {
		if d.Severity == diag.Error {
			t.Fatalf("%s: %s: %s", d.Code, d.Span, d.Message)
		}
	}
	return w
}

// compared reviews a workspace against itself with edits.
func compared(t testing.TB, example, pattern string, opt review.Options, edits ...edit) *review.Review {
	t.Helper()
	old, new := open(t, texts(t, example)), open(t, texts(t, example, edits...))
	before := old.Side(review.Origin{Title: "HEAD~1 (3f2c1d0a)", Kind: review.KindRevision, Operand: "HEAD~1", Revision: "3f2c1d0a5b6c7d8e9f00112233445566778899aa", Compiler: "0.1.0"}, pattern)
	after := new.Side(review.Origin{Title: "the work tree", Kind: review.KindWorkTree, Revision: "3f2c1d0a5b6c7d8e9f00112233445566778899aa", Dirty: true, Compiler: "0.1.0"}, pattern)
	before.Prove, after.Prove = 0, 0 // proofs take longer than all else, and look no different
	r, err := compiler.Review(before, after, opt)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// whole is the review of a change of all tunes of the largest example, and its
// page. Both are made once.
func whole(t testing.TB) (*review.Review, string) {
	t.Helper()
	made.once.Do(func() {
		made.review = compared(t, "tussock", "", review.Options{}, typo, loosened, newRule)
		made.page = written(t, made.review, page.Options{})
	})
	if made.page == "" {
		t.Fatal("the page of all tunes couldn't be made")
	}
	return made.review, made.page
}

var made struct {
	once   sync.Once
	review *review.Review
	page   string
}

// The planted faults: a point of the base that slipped, and a limit that asks
// less.
var (
	typo     = edit{"base_fuel.csv", "60,6.10,6.30,6.60,6.85,7.00,6.95,6.90,6.80,6.80,7.05,7.70,8.75,10.05,11.40,12.55", "60,6.10,6.30,6.60,6.85,7.00,6.95,6.90,6.80,6.80,7.05,7.70,8.75,10.05,11.40,1.255"}
	loosened = edit{"limits.fettle", "limit pump: pump_flow <= 240 [g/min]", "limit pump: pump_flow <= 300 [g/min]"}
	newRule  = edit{"weather.fettle", "# A hot day", "# Found on the dyno: a little richer everywhere.\nrule richer {\n  fuel += 0.4 %\n  spark -= 0.2 deg over rpm 6000.. feather 500\n}\n\n# A hot day"}
)
