package verify

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"

	"fettle/lang/source"
)

type reader struct {
	ext  string
	many bool // tables in one file
	read func(fsys fs.FS, name string) ([]*Table, error)
}

// readers give the tables of a file by the end of its name.
var readers = []reader{
	{".csv", false, readCSV}, {".tsv", false, readTSV}, {".xlsx", true, readBook}, {".json", true, readJSON}, {".bin", true, readImage},
}

// maxFile is the largest file that is read.
const maxFile = 1 << 26

// ReadPath reads a file or a folder.
func ReadPath(name string) (*Read, error) {
	st, err := os.Stat(name)
	if err != nil {
		return nil, fmt.Errorf("there is no file or folder %s", name)
	}
	dir, base := name, ""
	if !st.IsDir() {
		dir, base = filepath.Dir(name), filepath.Base(name)
	}
	fsys, closer, err := source.OpenFolder(dir)
	if err != nil {
		return nil, err
	}
	defer closer.Close()
	out := &Read{Title: name, Folder: base == ""}
	if out.Folder {
		err = out.folder(fsys)
	} else {
		err = out.file(fsys, base)
	}
	if err == nil {
		err = out.digests(fsys, dir)
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return out, nil
}

// file reads the tables of a single file.
func (r *Read) file(fsys fs.FS, name string) error {
	for _, one := range readers {
		if !strings.EqualFold(path.Ext(name), one.ext) {
			continue
		}
		tables, err := one.read(fsys, name)
		if err != nil {
			return err
		}
		r.Groups = []Group{{Tables: tables}}
		r.looked(name, tables)
		return nil
	}
	return errors.New("tables are read from CSV, TSV, XLSX, a tables.json and an image.bin with its image.json")
}
