package verify

import (
	"math"
	"path"
	"testing"
	"testing/fstest"
)

// FuzzTables reads any bytes as each kind of file that comes back from a bike, and
// as a folder that a build wrote: tables that are whole, or an error.
func FuzzTables(f *testing.F) {
	f.Add("fuel.csv", []byte("throttle \\ rpm,1000,2000\n0,1,2\n100,3,4\n"), []byte{})
	f.Add("fuel.tsv", []byte("rpm\t1000\t2000\n\t1\t2\n"), []byte{})
	f.Add("tables.json", []byte(`{"schema":"fettle/tables/1","tune":"t","tables":[{"name":"fuel","unit":"mg","axes":[{"name":"rpm","unit":"rpm","breakpoints":[1,2]}],"cells":[1,2]}]}`), []byte{})
	f.Add("image.bin", []byte(`{"schema":"fettle/image/1","file":"image.bin","bytes":4,"order":"little","tables":[{"name":"fuel","type":"u16","at":0,"step":1,"offset":0,"axes":[]}]}`), []byte{1, 0, 2, 0})
	f.Add("index.json", []byte(`{"schema":"fettle/index/1","tunes":[{"name":"../a"}]}`), []byte{})
	f.Add("SHA256SUMS", []byte("00  ../../a\n"), []byte{})
	f.Fuzz(func(t *testing.T, name string, first, second []byte) {
		files := fstest.MapFS{"image.json": {Data: first}, "image.bin": {Data: second}, "tune.json": {Data: first}, "index.json": {Data: first}, "fuel.csv": {Data: second}}
		for _, one := range readers {
			file := "fuel" + one.ext
			if one.ext == ".json" || one.ext == ".bin" {
				file = "image" + one.ext
			}
			if path.Ext(name) == one.ext && one.ext != ".bin" {
				files[file] = &fstest.MapFile{Data: first}
			}
			r := &Read{Title: file}
			if err := r.file(files, file); err != nil {
				continue
			}
			for _, g := range r.Groups {
				for _, table := range g.Tables {
					if n := max(1, len(table.Rows.Points)) * len(table.Cols.Points); n != len(table.Cells) {
						t.Errorf("%s: %d cells of %d", table.Name, len(table.Cells), n)
					}
					for _, x := range table.Cells {
						if math.IsInf(x, 0) {
							t.Errorf("%s has a cell without end", table.Name)
						}
					}
				}
			}
		}
		_ = (&Read{Title: "folder", Folder: true}).folder(files)
	})
}
