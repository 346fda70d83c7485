package emit

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"path"
	"slices"
	"strings"

	"fettle/compiler/grid"
)

// Built is a tune read back from its folder.
type Built struct {
	Tune
	Tables  []grid.Table   // by map
	Stored  [][]grid.Table // by target and table; none of one that the tune fails for
	Changed []string       // tables that aren't what was built any more
}

// VersionError says that a file is of a version that isn't read here.
type VersionError struct {
	File, Found, Wanted string
}

// Error implements error.
func (e *VersionError) Error() string {
	return fmt.Sprintf("%s is of version %q, and this reads %q", e.File, e.Found, e.Wanted)
}

// maxFile is the largest file of a build that is read.
const maxFile = 1 << 30

// ReadIndex reads the index.json of a built folder.
func ReadIndex(fsys fs.FS) (*Index, error) {
	x := &Index{}
	if err := readJSON(fsys, indexFile, IndexVersion, x); err != nil {
		return nil, err
	}
	if err := x.names(); err != nil {
		return nil, err
	}
	for i := range x.Tunes {
		settleValues(x.Tunes[i].Conditions)
	}
	return x, nil
}

// readNames reads of an index.json only what there is in its folder: the tunes'
// names and states, and the bundles.
func readNames(fsys fs.FS) (*Index, error) {
	data, err := readFile(fsys, indexFile)
	if err != nil || !laidOut(data, IndexVersion) {
		return ReadIndex(fsys) // which says what it is
	}
	var list struct {
		Tunes []struct {
			Name   string `json:"name"`
			Status string `json:"status"`
		} `json:"tunes"`
		Bundles []BundleEntry `json:"bundles"`
	}
	if err := json.Unmarshal(data, &list); err != nil {
		return nil, fmt.Errorf("%s isn't what a build writes: %w", indexFile, err)
	}
	x := &Index{Tunes: make([]Entry, len(list.Tunes)), Bundles: list.Bundles}
	for i, e := range list.Tunes {
		x.Tunes[i] = Entry{Name: e.Name, Status: e.Status}
	}
	return x, x.names()
}

// names refuses an index whose names lead elsewhere.
func (x *Index) names() error {
	for i := range x.Tunes {
		if name := x.Tunes[i].Name; !fs.ValidPath(name) || name == "." {
			return fmt.Errorf("%s lists a tune of the name %q", indexFile, name)
		}
	}
	return nil
}

// laidOut says whether a file begins with a version as a build writes it.
func laidOut(data []byte, version string) bool {
	return bytes.HasPrefix(data, []byte("{\n  \"schema\": \""+version+"\",\n"))
}

// ReadTune reads a tune back from its folder: tune.json, and each table that it
// names. A table whose digest isn't that of tune.json is read all the same, and
// listed as changed.
func ReadTune(fsys fs.FS, dir string) (*Built, error) {
	name := path.Join(dir, tuneFile)
	b := &Built{}
	if err := readJSON(fsys, name, TuneVersion, &b.Tune); err != nil {
		return nil, err
	}
	settleValues(b.Conditions)
	for i := range b.Maps {
		m := &b.Maps[i]
		if m.File == "" {
			return nil, fmt.Errorf("%s was built without CSV tables, and those are read: build it again with `--format csv`", name)
		}
		data, err := readBeside(fsys, name, m.File)
		if err != nil {
			return nil, err
		}
		table, err := readTable(m, path.Join(dir, m.File), data)
		if err != nil {
			return nil, err
		}
		if sum(data) != m.SHA256 {
			b.Changed = append(b.Changed, m.File)
		}
		b.Tables = append(b.Tables, *table)
	}
	return b, b.readTargets(fsys, dir)
}

// builtFiles gives the files of a tune as they are in its folder, whatever they
// say: Digest tells whether they are what was built.
func builtFiles(fsys fs.FS) ([]File, error) {
	manifest, err := readFile(fsys, tuneFile)
	if err != nil {
		return nil, err
	}
	var names listed
	if err := json.Unmarshal(manifest, &names); err != nil {
		return nil, err
	}
	list := []File{{tuneFile, manifest}}
	for _, name := range names.all() {
		data, err := readWithin(fsys, tuneFile, name)
		if err != nil {
			return nil, err
		}
		list = append(list, File{name, data})
	}
	return list, nil
}

// listed is what is read of a tune.json to know the files beside it.
type listed struct {
	Schema string `json:"schema"`
	Maps   []struct {
		File string `json:"file"`
	} `json:"maps"`
	Files []struct {
		File string `json:"file"`
	} `json:"files"`
	Targets []struct {
		Folder string `json:"folder"`
		Tables []struct {
			File string `json:"file"`
		} `json:"tables"`
		Files []struct {
			File string `json:"file"`
		} `json:"files"`
	} `json:"targets"`
}

// all lists the files of every format.
func (l *listed) all() []string {
	out := make([]string, 0, len(l.Maps)+len(l.Files))
	for _, m := range l.Maps {
		if m.File != "" {
			out = append(out, m.File)
		}
	}
	for _, f := range l.Files {
		out = append(out, f.File)
	}
	for _, t := range l.Targets {
		for _, list := range [][]struct {
			File string `json:"file"`
		}{t.Tables, t.Files} {
			for _, f := range list {
				if f.File != "" {
					out = append(out, t.Folder+"/"+f.File)
				}
			}
		}
	}
	return out
}

// readBeside reads a table that a manifest names, which is a file beside it.
func readBeside(fsys fs.FS, manifest, file string) ([]byte, error) {
	if strings.ContainsAny(file, `/\`) || !fs.ValidPath(file) || file == "." {
		return nil, fmt.Errorf("%s names the table %q, which is no file beside it", manifest, file)
	}
	return readFile(fsys, path.Join(path.Dir(manifest), file))
}

// readWithin reads a file that a manifest names, beside it or in the folder of a
// target.
func readWithin(fsys fs.FS, manifest, file string) ([]byte, error) {
	folder, name, deep := strings.Cut(file, "/")
	if !deep {
		return readBeside(fsys, manifest, file)
	}
	if strings.ContainsAny(folder, `\`) || !fs.ValidPath(folder) || folder == "." {
		return nil, fmt.Errorf("%s names the folder %q, which is none beside it", manifest, folder)
	}
	return readBeside(fsys, path.Join(path.Dir(manifest), folder, tuneFile), name)
}

// readTable reads a table and holds it to what the manifest says of its axes.
func readTable(m *Map, name string, data []byte) (*grid.Table, error) {
	return readTableOf(m.Axes, name, data)
}

func readTableOf(want []Axis, name string, data []byte) (*grid.Table, error) {
	t, faults := grid.ReadCSV(data)
	if len(faults) > 0 {
		return nil, fmt.Errorf("%s, line %d: %s", name, faults[0].Line, faults[0].Msg)
	}
	if i := slices.Index(t.Given, false); i >= 0 {
		return nil, fmt.Errorf("%s, line %d: a cell is empty", name, t.CellLine[i/len(t.Table.Cols)])
	}
	axes := []Axis{{t.ColHead.Name, t.ColHead.Unit, numbers(t.Table.Cols)}}
	if t.Table.Rows != nil {
		axes = []Axis{{t.RowHead.Name, t.RowHead.Unit, numbers(t.Table.Rows)}, axes[0]}
	}
	same := func(a, b Axis) bool {
		return a.Name == b.Name && a.Unit == b.Unit && slices.Equal(a.Breakpoints, b.Breakpoints)
	}
	if !slices.EqualFunc(axes, want, same) {
		return nil, fmt.Errorf("%s has other axes than its %s says", name, tuneFile)
	}
	return &t.Table, nil
}

func readJSON(fsys fs.FS, name, version string, into any) error {
	data, err := readFile(fsys, name)
	if err != nil {
		return err
	}
	return parseJSON(name, data, version, into)
}

// parseJSON looks at the version first, since the rest of another version's file
// may be anything.
func parseJSON(name string, data []byte, version string, into any) error {
	var head struct {
		Schema string `json:"schema"`
	}
	// As a build lays it out, it begins with the version.
	if !laidOut(data, version) {
		if err := json.Unmarshal(data, &head); err != nil {
			return fmt.Errorf("%s isn't what a build writes: %w", name, err)
		}
		if kind := version[:strings.LastIndex(version, "/")+1]; !strings.HasPrefix(head.Schema, kind) {
			return fmt.Errorf("%s isn't what a build writes", name)
		}
		if head.Schema != version {
			return &VersionError{name, head.Schema, version}
		}
	}
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		return fmt.Errorf("%s isn't what a build writes: %w", name, err)
	}
	if rest := bytes.TrimSpace(data[d.InputOffset():]); len(rest) > 0 {
		return fmt.Errorf("%s isn't what a build writes: %q comes after it", name, rest[0])
	}
	return nil
}

func readFile(fsys fs.FS, name string) ([]byte, error) {
	var b bytes.Buffer
	if err := readInto(&b, fsys, name); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

func readInto(b *bytes.Buffer, fsys fs.FS, name string) error {
	// Opening a pipe would wait for somebody to write.
	if st, err := fs.Stat(fsys, name); err == nil && !st.Mode().IsRegular() {
		return fmt.Errorf("%s is not a plain file", name)
	}
	f, err := fsys.Open(name)
	if err != nil {
		return err
	}
	defer f.Close()
	st, err := f.Stat()
	if err != nil {
		return err
	}
	if !st.Mode().IsRegular() {
		return fmt.Errorf("%s is not a plain file", name)
	}
	if st.Size() > maxFile {
		return fmt.Errorf("%s is too large to be of a build", name)
	}
	b.Reset()
	b.Grow(int(st.Size()) + bytes.MinRead) // so that the end is met without growing
	if _, err = b.ReadFrom(io.LimitReader(f, maxFile+1)); err != nil {
		return err
	}
	if b.Len() > maxFile {
		return fmt.Errorf("%s is too large to be of a build", name)
	}
	return nil
}

// settleValues gives numbers of conditions the type that they are written from.
func settleValues(cs []Condition) {
	for i := range cs {
		if x, ok := cs[i].Value.(float64); ok {
			cs[i].Value = Number(x)
		}
	}
}
