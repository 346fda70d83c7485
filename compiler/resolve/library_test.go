package resolve

import (
	"testing"

	"fettle/lang/diag"
	"fettle/lang/source"
	"fettle/lang/syntax"
	"fettle/stdlib"
)

// TestLibraryReads: the modules are read without a fault, since none would be told.
func TestLibraryReads(t *testing.T) {
	for _, name := range stdlib.Modules() {
		text, _ := stdlib.Text(name)
		errs := &diag.List{}
		tree := syntax.Parse(source.New("stdlib/"+name+".fettle", text), errs)
		for _, d := range errs.Sorted() {
			t.Errorf("%s: %s", d.Span, d.Message)
		}
		if len(tree.Decls) == 0 || tree.Partial {
			t.Errorf("%s: %d declarations", name, len(tree.Decls))
		}
	}
}
