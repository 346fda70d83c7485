package emit

import (
	"bytes"
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	slashpath "path"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"
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
	lists, err := allListed(fsys, x.Tunes)
	if err != nil {
		return nil, cant(filepath.Join(shown, filepath.FromSlash(x.Tunes[err.tune].Name), tuneFile), "read", err.cause)
	}
	for k, e := range x.Tunes {
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
		for _, t := range lists[k] {
			o.files[e.Name+"/"+t] = true
			if folder, _, deep := strings.Cut(t, "/"); deep {
				o.folders[e.Name+"/"+folder] = true
			}
		}
		o.unknown[e.Name] = lists[k] == nil
	}
	return o, o.bundles(fsys, shown, x)
}

// listError is an error of reading one tune's list.
type listError struct {
	tune  int
	cause error
}

// allListed gives the tables of each tune that isn't failed, as tablesListed
// does, and the first error.
func allListed(fsys fs.FS, tunes []Entry) ([][]string, *listError) {
	out, errs := make([][]string, len(tunes)), make([]error, len(tunes))
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(len(tunes), runtime.GOMAXPROCS(0)) {
		wg.Go(func() {
			var b bytes.Buffer
			for i := int(next.Add(1)) - 1; i < len(tunes); i = int(next.Add(1)) - 1 {
				if tunes[i].Status != Failed {
					out[i], errs[i] = tablesListed(&b, fsys, tunes[i].Name+"/"+tuneFile)
				}
			}
		})
	}
	wg.Wait()
	for i, err := range errs {
		if err != nil {
			return nil, &listError{i, err}
		}
	}
	return out, nil
}

// tablesListed gives the tables that a tune.json lists; nil if it is gone, or
// isn't what a build writes any more.
func tablesListed(b *bytes.Buffer, fsys fs.FS, name string) ([]string, error) {
	err := readInto(b, fsys, name)
	data := b.Bytes()
	if errors.Is(err, fs.ErrPermission) {
		return nil, err
	}
	if tables, ok := plainList(data); err == nil && ok {
		return tables, nil
	}
	var list listed
	if err != nil || json.Unmarshal(data, &list) != nil || list.Schema != TuneVersion {
		return nil, nil
	}
	return list.all(), nil
}

// plainList finds the tables in a tune.json as a build lays it out, with nothing
// but CSV tables. A line end within a text would be escaped, so what begins a line
// can't be of one.
func plainList(data []byte) (tables []string, ok bool) {
	_, after, found := bytes.Cut(data, []byte("\n  \"maps\": [\n"))
	if !laidOut(data, TuneVersion) || !found {
		return nil, false
	}
	maps, after, found := bytes.Cut(after, []byte("\n  ],\n"))
	// Other formats and targets are listed after the cautions, the last of all.
	_, after, cautions := bytes.Cut(after, []byte("\n  \"cautions\": [\n"))
	if !found || !cautions || !bytes.HasSuffix(after, []byte("\n  ]\n}\n")) || bytes.Contains(after, []byte("\n  ],\n")) {
		return nil, false
	}
	tables = []string{}
	for _, m := range bytes.Split(maps, []byte("\n    },\n")) {
		_, name, found := bytes.Cut(m, []byte("\n      \"file\": \""))
		end := bytes.IndexAny(name, "\"\\\n")
		if !found || end < 0 || name[end] != '"' {
			return nil, false
		}
		tables = append(tables, string(name[:end]))
	}
	return tables, true
}

// clutter is what file managers leave in the folders that they show.
var clutter = map[string]bool{".DS_Store": true, "Thumbs.db": true, "desktop.ini": true}

// oursOnly looks at everything in the old output, and refuses to replace what no
// build wrote. It says whether there is an old output.
func (f *Folder) oursOnly() (bool, error) {
	if f.ours != nil && f.ours.allThere(f.dir) {
		return true, nil
	}
	// Something is foreign or gone: what comes first in the order of names is told.
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

// allThere says whether there is nothing in a folder but what is ours: every
// folder that is ours is looked at, several at once.
func (o *ours) allThere(dir string) bool {
	folders := make([]string, 0, len(o.folders))
	for name := range o.folders {
		folders = append(folders, name)
	}
	var next atomic.Int64
	var foreign atomic.Bool
	var wg sync.WaitGroup
	for range min(len(folders), runtime.GOMAXPROCS(0)) {
		wg.Go(func() {
			for i := int(next.Add(1)) - 1; i < len(folders) && !foreign.Load(); i = int(next.Add(1)) - 1 {
				if !o.allIn(dir, folders[i]) {
					foreign.Store(true)
				}
			}
		})
	}
	wg.Wait()
	return !foreign.Load()
}

// allIn looks at one folder.
func (o *ours) allIn(dir, folder string) bool {
	entries, err := os.ReadDir(filepath.Join(dir, filepath.FromSlash(folder)))
	if err != nil {
		return false
	}
	for _, d := range entries {
		name := d.Name()
		if folder != "." {
			name = folder + "/" + name
		}
		if !o.has(name, d) {
			return false
		}
	}
	return true
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
