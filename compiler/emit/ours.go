package emit

import (
	"encoding/json"
	"errors"
	"io/fs"
	slashpath "path"
	"path/filepath"
	"strings"
)

// What of an old output is of a build, and may be replaced with it.

// ours is every folder and file that builds wrote into an output, by its path
// within it, with slashes. Its index.json says which tunes there are, each
// tune.json which tables; nothing else is ours, and a build that is to replace
// the output refuses to lose it.
type ours struct {
	folders map[string]bool
	files   map[string]bool
	unknown map[string]bool // folders of tunes whose tune.json doesn't say what is in them
}

// oursOf reads what the index of an output and the tunes that it lists say is
// theirs. A failed tune has no folder.
func oursOf(fsys fs.FS, shown string, x *Index) (*ours, error) {
	o := &ours{folders: map[string]bool{".": true}, files: map[string]bool{indexFile: true}, unknown: map[string]bool{}}
	for _, e := range x.Tunes {
		if e.Status == Failed {
			continue
		}
		for i, c := range e.Name {
			if c == '/' {
				o.folders[e.Name[:i]] = true
			}
		}
		o.folders[e.Name] = true
		o.files[e.Name+"/"+tuneFile] = true
		tables, err := tablesListed(fsys, e.Name+"/"+tuneFile)
		if err != nil {
			return nil, cant(filepath.Join(shown, filepath.FromSlash(e.Name), tuneFile), "read", err)
		}
		for _, t := range tables {
			o.files[e.Name+"/"+t] = true
			if folder, _, deep := strings.Cut(t, "/"); deep {
				o.folders[e.Name+"/"+folder] = true
			}
		}
		o.unknown[e.Name] = tables == nil
	}
	return o, o.bundles(fsys, shown, x)
}

// tablesListed gives the tables that a tune.json lists; nil if it is gone, or
// isn't what a build writes any more.
func tablesListed(fsys fs.FS, name string) ([]string, error) {
	data, err := readFile(fsys, name)
	if errors.Is(err, fs.ErrPermission) {
		return nil, err
	}
	var list listed
	if err != nil || json.Unmarshal(data, &list) != nil || list.Schema != TuneVersion {
		return nil, nil
	}
	return list.all(), nil
}

// clutter is what file managers leave in the folders that they show.
var clutter = map[string]bool{".DS_Store": true, "Thumbs.db": true, "desktop.ini": true}

// oursOnly looks at everything in the old output, and refuses to replace what no
// build wrote. It says whether there is an old output.
func (f *Folder) oursOnly() (bool, error) {
	there := true
	err := filepath.WalkDir(f.dir, func(path string, d fs.DirEntry, err error) error {
		name, _ := filepath.Rel(f.dir, path)
		shown := filepath.Join(f.shown, name)
		name = filepath.ToSlash(name)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			there = there && name != "." // what is gone can't be lost
			return nil
		case err != nil:
			return cant(shown, "read", err)
		case name == ".", f.ours != nil && f.ours.has(name, d):
			return nil
		}
		problem := "is not of a build"
		if f.ours != nil && f.ours.unknown[slashpath.Dir(name)] {
			problem = "is in no list of a build, since the " + tuneFile + " of its folder is gone or was changed"
		}
		return &Error{Path: shown, Problem: problem + ", and a build replaces its whole folder: move it elsewhere"}
	})
	return there, err
}

// has says whether a build wrote what stands at a path. A link never is of one,
// whatever its name.
func (o *ours) has(name string, d fs.DirEntry) bool {
	switch {
	case d.IsDir():
		return o.folders[name]
	case !d.Type().IsRegular():
		return false
	}
	return o.files[name] || clutter[d.Name()]
}

// losing notes that a tune which fails now had tables in the old output: it won't
// have them in the new one.
func (f *Folder) losing(name string) {
	if f.ours == nil || !f.ours.folders[name] {
		return
	}
	if exists(filepath.Join(f.dir, filepath.FromSlash(name))) {
		f.sum.Removed = append(f.sum.Removed, name)
	}
}
