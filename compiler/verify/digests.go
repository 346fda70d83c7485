package verify

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"path/filepath"
	"strings"

	"fettle/compiler/emit"
	"fettle/compiler/form"
	"fettle/lang/source"
)

// The files that say what a build wrote.
const (
	tuneFile   = "tune.json"
	bundleFile = "bundle.json"
)

// recorded is a SHA-256 that a file says of another.
type recorded struct {
	file, sum string
	by        string
}

type fileSum struct {
	File   string `json:"file"`
	SHA256 string `json:"sha256"`
}

// record is what is wanted of a tune.json or a bundle.json.
type record struct {
	Schema  string    `json:"schema"`
	Maps    []fileSum `json:"maps"`
	Files   []fileSum `json:"files"`
	Targets []struct {
		Folder string    `json:"folder"`
		Tables []fileSum `json:"tables"`
		Files  []fileSum `json:"files"`
	} `json:"targets"`
	Slots []struct {
		Files []fileSum `json:"files"`
	} `json:"slots"`
}

// sums lists what a record says, by path from its own folder.
func (rec *record) sums(by string) []recorded {
	var out []recorded
	add := func(folder string, list []fileSum) {
		for _, f := range list {
			if f.File != "" && f.SHA256 != "" {
				out = append(out, recorded{path.Join(folder, f.File), f.SHA256, by})
			}
		}
	}
	add("", rec.Maps)
	add("", rec.Files)
	for _, t := range rec.Targets {
		add(t.Folder, t.Tables)
		add(t.Folder, t.Files)
	}
	for _, s := range rec.Slots {
		add("", s.Files)
	}
	return out
}

// digests holds the files to the SHA-256 that is recorded of them: in a folder by
// its tune.json or by the tune.json or bundle.json above it, and of an image by
// the map of it.
func (r *Read) digests(fsys fs.FS, dir string) error {
	var list []recorded
	if r.Folder {
		above, err := r.records(fsys, dir)
		if err != nil {
			return err
		}
		list = above
	}
	for _, f := range r.Files {
		if path.Ext(f.Name) != ".json" {
			continue
		}
		data, err := readPlain(fsys, f.Name)
		if err != nil {
			return err
		}
		var in form.Image
		if json.Unmarshal(data, &in) == nil && in.Schema == form.ImageVersion && in.SHA256 != "" {
			list = append(list, recorded{path.Join(path.Dir(f.Name), in.File), in.SHA256, f.Name})
		}
	}
	r.hold(fsys, list)
	return nil
}

// records gives what the tune.json or bundle.json of a folder says of its files.
func (r *Read) records(fsys fs.FS, dir string) ([]recorded, error) {
	data, err := readPlain(fsys, tuneFile)
	if err == nil {
		var rec record
		if err := json.Unmarshal(data, &rec); err != nil || rec.Schema != emit.TuneVersion {
			return nil, fmt.Errorf("%s isn't what this build of fettle writes, so its SHA-256s can't be held against the files", tuneFile)
		}
		return rec.sums(tuneFile), nil
	}
	if !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%s: %w", tuneFile, err)
	}
	// A target's folder or a slot's: what is above may be anything else.
	full, err := filepath.Abs(dir)
	if err != nil {
		return nil, nil
	}
	up, closer, err := source.OpenFolder(filepath.Dir(full))
	if err != nil {
		return nil, nil
	}
	defer closer.Close()
	var out []recorded
	for _, above := range []struct{ file, schema string }{{tuneFile, emit.TuneVersion}, {bundleFile, emit.BundleVersion}} {
		var rec record
		if data, err := readPlain(up, above.file); err != nil || json.Unmarshal(data, &rec) != nil || rec.Schema != above.schema {
			continue
		}
		for _, one := range rec.sums("../" + above.file) {
			if name, ok := strings.CutPrefix(one.file, filepath.Base(full)+"/"); ok {
				one.file = name
				out = append(out, one)
			}
		}
	}
	return out, nil
}

// hold compares the files with what is recorded of them.
func (r *Read) hold(fsys fs.FS, list []recorded) {
	for _, one := range list {
		f := r.named(one.file)
		if f == nil {
			f = &File{Name: one.file}
		}
		if f.State == Changed {
			continue
		}
		before := f.By
		f.State, f.By = AsWritten, one.by
		data, err := readPlain(fsys, one.file)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			f.State = Missing
			r.Missing = append(r.Missing, *f)
			continue
		case err != nil:
			f.State = Changed
		default:
			if sum := sha256.Sum256(data); hex.EncodeToString(sum[:]) != one.sum {
				f.State = Changed
			}
		}
		if f.State == AsWritten && before != "" {
			f.By = before
		}
		if r.named(one.file) == nil {
			r.Over = append(r.Over, *f)
		}
	}
}

// named is a file that was looked at or passed over; nil if it is neither.
func (r *Read) named(name string) *File {
	for _, list := range [][]File{r.Files, r.Over} {
		for i := range list {
			if list[i].Name == name {
				return &list[i]
			}
		}
	}
	return nil
}

// Changed lists the files that aren't as they were written.
func (r *Read) Changed() []File {
	var out []File
	for _, list := range [][]File{r.Files, r.Over} {
		for _, f := range list {
			if f.State == Changed {
				out = append(out, f)
			}
		}
	}
	return out
}
