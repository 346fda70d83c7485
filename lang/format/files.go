package format

import (
	"fmt"
	"io/fs"
	"path/filepath"
	"strings"

	"fettle/lang/diag"
	"fettle/lang/source"
)

// Files lists the .fettle files of a folder and those below it, sorted; folders
// whose name begins with a dot are passed over.
func Files(dir string) ([]string, error) {
	var out []string
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && path != dir && strings.HasPrefix(d.Name(), "."):
			return fs.SkipDir
		case !d.IsDir() && filepath.Ext(path) == ".fettle":
			out = append(out, path)
		}
		return nil
	})
	return out, err
}

// File formats one file on the disk: the new text is written beside it and takes
// its place, so that it is never half written. With check nothing is written.
// changed says whether the file wasn't in the layout; a file with errors is left
// as it is. A link stays a link, and what it leads to is formatted; one that leads
// out of the folder within is refused, where one is named.
func File(name, within string, check bool) (changed bool, errs *diag.List, err error) {
	real, err := filepath.Abs(name)
	if err == nil {
		real, err = filepath.EvalSymlinks(real)
	}
	if err != nil {
		return false, nil, fmt.Errorf("there is no file %s", name)
	}
	if within != "" {
		if dir, err := filepath.EvalSymlinks(within); err != nil || !source.Within(dir, real) {
			return false, nil, fmt.Errorf("%s leads out of the workspace, and is left as it is: to format it all the same, name it", name)
		}
	}
	fsys, closer, err := source.OpenFolder(filepath.Dir(real))
	if err != nil {
		return false, nil, err
	}
	defer closer.Close()
	f, err := source.ReadText(fsys, filepath.Base(real))
	if err != nil {
		return false, nil, err
	}
	out, errs := Source(source.New(name, f.Text))
	if errs.HasErrors() || out == f.Text {
		return false, errs, nil
	}
	if check {
		return true, errs, nil
	}
	return true, errs, source.Replace(real, out)
}
