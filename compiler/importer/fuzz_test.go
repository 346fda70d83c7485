package importer

import (
	"testing"

	"fettle/compiler/workbook"
	"fettle/lang/diag"
	"fettle/lang/format"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// Whatever the bytes, there is a result that reads in the one layout, or there
// are errors; never neither, never a panic.
func FuzzImport(f *testing.F) {
	for _, d := range dialects {
		f.Add([]byte(d.in), uint8(0))
		f.Add([]byte(d.in), uint8(7))
	}
	f.Add([]byte("throttle \\ rpm\t1000\t2000\n0\t1\t2\n100\t3\t4\n"), uint8(32)) // as a spreadsheet's clipboard has it
	f.Add([]byte("\"a\nb\"\t1,5\t2,5\r\n0\t1\t2\r\n"), uint8(32|8))
	f.Add([]byte("name;a [text];b (kg/m³)\nPump 98;\"x|#\"\"\\ y\";7\nq;};8\n"), uint8(0))
	f.Add(book(f, map[string]func(*workbook.Sheet){"Fuel Map 2": small}), uint8(1))
	axes := ground(f)
	f.Fuzz(func(t *testing.T, data []byte, flags uint8) {
		opt := Options{File: "f.csv", Axes: axes, Transpose: flags&1 != 0, As: []string{"", "map", "catalog", ""}[flags>>1&3]}
		if flags&32 != 0 {
			opt.File, opt.Pasted = "standard input", true
		}
		if flags&8 != 0 {
			opt.Decimal = ","
		}
		if flags&16 != 0 {
			opt.Rows, opt.Cols = "load [kPa]", "gear"
		}
		r, errs := Import(data, opt)
		if r == nil {
			if !errs.HasErrors() {
				t.Fatal("neither a result nor an error")
			}
			for _, d := range errs.Sorted() {
				if d.Span.File != nil && d.Span.File.Name == "the result" {
					t.Fatalf("what was written doesn't read: %s", text(errs))
				}
			}
			return
		}
		faults := &diag.List{}
		tree := syntax.Parse(source.New("x", r.Text), faults)
		if faults.HasErrors() || len(tree.Decls) != 1 || tree.Decls[0].Header().Name.Text != r.Name {
			t.Fatalf("%s\n%s", text(faults), r.Text)
		}
		if again, _ := format.Source(source.New("x", r.Text)); again != r.Text {
			t.Fatalf("not in the layout:\n%s", r.Text)
		}
	})
}
