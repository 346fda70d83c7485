package verify

import (
	"errors"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"
)

// mustRead are the files of a build that hold tables: one that can't be read is
// an error, and not a file that has nothing to do with it.
var mustRead = []string{"tables.xlsx", "tables.json", "image.json", "image.bin"}

// folder reads the tables of a folder, and where it is a tune's, those of its
// targets' folders.
func (r *Read) folder(fsys fs.FS) error {
	for _, many := range []struct{ file, say string }{
		{"index.json", "it holds every tune of a build: name the folder of one"},
		{"bundle.json", "it holds the slots of a bundle: name the folder of one"},
	} {
		if _, err := fs.Stat(fsys, many.file); err == nil {
			return errors.New(many.say)
		}
	}
	folders, err := r.readFolder(fsys, ".")
	if err != nil {
		return err
	}
	_, err = fs.Stat(fsys, tuneFile)
	whole := err == nil
	for _, name := range folders {
		if !whole {
			r.passOver(name+"/", "it is a folder, and this is no tune's")
			continue
		}
		deeper, err := r.readFolder(fsys, name)
		if err != nil {
			return err
		}
		for _, sub := range deeper {
			r.passOver(sub+"/", "a target's folder has no folders")
		}
	}
	if r.tables() == 0 {
		for _, o := range r.Over {
			if slices.ContainsFunc(readers, func(one reader) bool { return strings.EqualFold(path.Ext(o.Name), one.ext) }) {
				return fmt.Errorf("%s: %s", o.Name, o.Why)
			}
		}
		return errors.New("it holds no tables: they are read from CSV, TSV, XLSX, a tables.json and an image.bin with its image.json")
	}
	return nil
}

// readFolder reads every file of tables of one folder, and gives the folders in
// it.
func (r *Read) readFolder(fsys fs.FS, dir string) (folders []string, err error) {
	entries, err := fs.ReadDir(fsys, dir)
	if err != nil {
		return nil, err
	}
	inside := dir
	if dir == "." {
		inside = ""
	}
	done := map[string]bool{}
	for _, format := range readers {
		var out []*Table
		for _, e := range entries {
			name := path.Join(dir, e.Name())
			if e.IsDir() || done[name] || !strings.EqualFold(path.Ext(name), format.ext) || notTables[e.Name()] {
				continue
			}
			done[name] = true
			list, err := format.read(fsys, name)
			var alone *aloneError
			switch {
			case err == nil:
			case errors.As(err, &alone):
				r.passOver(name, err.Error())
				continue
			case slices.Contains(mustRead, e.Name()), format.ext == ".csv", format.ext == ".tsv":
				return nil, fmt.Errorf("%s: %w", name, err)
			default:
				r.passOver(name, err.Error())
				continue
			}
			for _, t := range list {
				done[t.File] = true // of an image.json the image that it describes
			}
			r.looked(name, list)
			if format.many {
				r.Groups = append(r.Groups, Group{inside, list})
				continue
			}
			out = append(out, list...)
		}
		if len(out) > 0 {
			slices.SortStableFunc(out, func(a, b *Table) int { return strings.Compare(a.Name, b.Name) })
			r.Groups = append(r.Groups, Group{inside, out})
		}
	}
	for _, e := range entries {
		name := path.Join(dir, e.Name())
		switch {
		case e.IsDir():
			folders = append(folders, name)
		case done[name] || dir == "." && e.Name() == tuneFile:
		case e.Name() == "live.xlsx":
			r.passOver(name, "it computes its tables when it is opened")
		default:
			r.passOver(name, "tables aren't read back from it")
		}
	}
	return folders, nil
}

// looked notes a file whose tables were read, and of an image both files.
func (r *Read) looked(name string, tables []*Table) {
	names := []string{name}
	if path.Ext(name) == ".bin" {
		names = append(names, strings.TrimSuffix(name, path.Ext(name))+".json")
	}
	for _, t := range tables {
		names = append(names, t.File)
	}
	for _, n := range names {
		if r.named(n) == nil {
			r.Files = append(r.Files, File{Name: n})
		}
	}
}

func (r *Read) passOver(name, why string) {
	r.Over = append(r.Over, File{Name: name, Why: why})
}

// notTables are files of a build beside its tables.
var notTables = map[string]bool{tuneFile: true, "live.xlsx": true}
