package emit

import (
	"encoding/json"
	"errors"
	"io/fs"
	"math"
	"os"
	slashpath "path"
	"path/filepath"
	"strconv"
	"strings"

	"fettle/compiler/bundle"
	"fettle/compiler/check"
	"fettle/compiler/plan"
	"fettle/lang/diag"
)

// A bundle stands in a folder of the output, with a folder for each slot and a
// bundle.json that says what they are.

// BundleInput is a judged bundle with its slots' tunes.
type BundleInput struct {
	Outcome *bundle.Outcome
	Slots   []Input
}

const bundleFile = "bundle.json"

// bundleFolder is a bundle's folder within an output.
func bundleFolder(name string) string { return check.BundlesFolder + "/" + name }

// AddBundle writes a bundle, or notes why it fails. An error is final, as of Add.
func (f *Folder) AddBundle(in BundleInput) error {
	if f.finished {
		return f.ended()
	}
	spec := in.Outcome.Bundle.Spec
	e := BundleEntry{Name: spec.Name, Status: Written, SourceDigest: in.Slots[0].Source.Digest}
	if spec.Target != nil {
		e.Target = spec.Target.Name
	}
	for i, t := range in.Outcome.Bundle.Tunes {
		e.Slots = append(e.Slots, IndexSlot{i + 1, t.Name})
	}
	if in.Outcome.Fails() {
		e.Status, e.Reasons = Failed, in.Outcome.Reasons(in.Slots[0].Program)
		f.bundles = append(f.bundles, e)
		return nil
	}
	list, err := bundleFiles(in)
	if err == nil {
		err = f.putBundle(spec.Name, list)
	}
	if err != nil {
		return f.fail(err)
	}
	digest := Digest(list)
	e.Digest = &digest
	f.bundles = append(f.bundles, e)
	f.sum.Bundles = append(f.sum.Bundles, spec.Name)
	return nil
}

// putBundle writes the folder of one bundle.
func (f *Folder) putBundle(name string, list []File) error {
	folder := bundleFolder(name)
	if err := f.mkdir(folder); err != nil {
		return err
	}
	if err := f.mkdirs(folder, paths(list)); err != nil {
		return err
	}
	for _, file := range list {
		if err := f.put(filepath.Join(filepath.FromSlash(folder), filepath.FromSlash(file.Path)), file.Data); err != nil {
			return err
		}
	}
	return nil
}

// bundleFiles gives every file of a bundle's folder: of each slot those of its
// tune that are of the bundle's target, or of the maps themselves.
func bundleFiles(in BundleInput) ([]File, error) {
	first, spec := in.Slots[0], in.Outcome.Bundle.Spec
	m := Bundle{Schema: BundleVersion, Name: spec.Name, Doc: spec.Doc, Place: placeOf(spec.Span), Source: sourceInfo(first.Source), Compiler: first.Source.Version,
		Differs: []string{}, Unlike: unlike(&in), Jumps: []BundleJump{}, Cautions: Cautions(first.Program)}
	for _, d := range spec.Differs {
		m.Differs = append(m.Differs, first.Program.Givens[d.Given].Name)
	}
	if spec.Target != nil {
		m.Target = spec.Target.Name
	}
	for i := range in.Outcome.Jumps {
		m.Jumps = append(m.Jumps, aboutJump(&in.Outcome.Jumps[i]))
	}
	var out []File
	x := first.fix()
	for i, slot := range in.Slots {
		slot.fixed = x
		list, err := files(slot)
		if err != nil {
			return nil, err
		}
		s := BundleSlot{Slot: i + 1, Tune: slot.Tune.Name, Digest: Digest(list), Files: []FormatFile{}}
		// The same tables once more, named for the slot where a format has names.
		slot.Slot = i + 1
		if list, err = files(slot); err != nil {
			return nil, err
		}
		formats, err := formatsOf(list)
		if err != nil {
			return nil, err
		}
		for _, file := range list {
			folder, name, deep := strings.Cut(file.Path, "/")
			if !deep {
				folder, name = "", file.Path
			}
			if folder != m.Target || file.Path == tuneFile {
				continue
			}
			path := strconv.Itoa(i+1) + "/" + name
			s.Files = append(s.Files, FormatFile{Format: formats[file.Path], File: path, SHA256: sum(file.Data)})
			out = append(out, File{path, file.Data})
		}
		m.Slots = append(m.Slots, s)
	}
	manifest, err := Encode(&m)
	if err != nil {
		return nil, err
	}
	return append(out, File{bundleFile, manifest}), nil
}

// formatsOf gives the format of each file beside CSV, as its tune.json says.
func formatsOf(list []File) (map[string]string, error) {
	var t Tune
	if err := json.Unmarshal(list[len(list)-1].Data, &t); err != nil {
		return nil, err
	}
	out := map[string]string{}
	for _, f := range list {
		out[f.Path] = CSVFormat
	}
	for _, f := range t.Files {
		out[f.File] = f.Format
	}
	for _, on := range t.Targets {
		for _, f := range on.Files {
			out[on.Folder+"/"+f.File] = f.Format
		}
	}
	return out, nil
}

// unlike lists the givens in which the slots differ.
func unlike(in *BundleInput) []Unlike {
	out := []Unlike{}
	for i, g := range in.Slots[0].Program.Givens {
		if !in.Outcome.Bundle.Differs(i) {
			continue
		}
		u := Unlike{Name: g.Name}
		for _, t := range in.Outcome.Bundle.Tunes {
			u.Values = append(u.Values, plan.Text(g, t.Values[i]))
		}
		out = append(out, u)
	}
	return out
}

func aboutJump(j *bundle.Jump) BundleJump {
	out := BundleJump{Table: j.Table, Map: j.Map, Unit: j.Unit, Largest: six(j.Size), Slots: []int{j.Slots[0] + 1, j.Slots[1] + 1}, Values: []Number{six(j.Values[0]), six(j.Values[1])},
		At: []Coordinate{}, Points: j.Points, Past: j.Past}
	if j.Allowed != nil {
		out.Allowed = j.Allowed.Text
	}
	if s := j.Share(); !math.IsInf(s, 0) {
		share := six(s)
		out.Share = &share
	}
	for i, x := range j.At {
		out.At = append(out.At, Coordinate{j.Axes[i].Name, Number(x), j.Axes[i].Unit})
	}
	return out
}

// ReadBundle reads a bundle.json from its folder.
func ReadBundle(fsys fs.FS, dir string) (*Bundle, error) {
	b := &Bundle{}
	if err := readJSON(fsys, slashpath.Join(dir, bundleFile), BundleVersion, b); err != nil {
		return nil, err
	}
	return b, nil
}

// bundles notes what of an output is of its bundles.
func (o *ours) bundles(fsys fs.FS, shown string, x *Index) error {
	for _, e := range x.Bundles {
		if e.Status == Failed || !fs.ValidPath(e.Name) || strings.Contains(e.Name, "/") {
			continue
		}
		folder := bundleFolder(e.Name)
		o.folders[check.BundlesFolder], o.folders[folder] = true, true
		o.files[folder+"/"+bundleFile] = true
		list, err := bundleListed(fsys, folder)
		if err != nil {
			return cant(filepath.Join(shown, filepath.FromSlash(folder), bundleFile), "read", err)
		}
		for _, name := range list {
			o.files[folder+"/"+name] = true
			o.folders[slashpath.Dir(folder+"/"+name)] = true
		}
		o.unknown[folder] = list == nil
	}
	return nil
}

// bundleListed gives the files that a bundle.json lists; nil if it is gone, or
// isn't what a build writes any more.
func bundleListed(fsys fs.FS, folder string) ([]string, error) {
	data, err := readFile(fsys, folder+"/"+bundleFile)
	if errors.Is(err, fs.ErrPermission) {
		return nil, err
	}
	var b Bundle
	if err != nil || json.Unmarshal(data, &b) != nil || b.Schema != BundleVersion {
		return nil, nil
	}
	out := []string{}
	for _, s := range b.Slots {
		for _, f := range s.Files {
			out = append(out, f.File)
		}
	}
	return out, nil
}

// keepBundles brings over from the old output the bundles that weren't added, as
// keepOthers does tunes, and puts them in the order of the source.
func (f *Folder) keepBundles(stop <-chan struct{}) error {
	if f.old == nil {
		return nil
	}
	entries := []BundleEntry{}
	for _, b := range plan.Run(f.first.Program, &diag.List{}).Bundles {
		e, added := bundleEntry(f.bundles, b.Spec.Name)
		if !added {
			var ok bool
			if e, ok = bundleEntry(f.old.Bundles, b.Spec.Name); !ok {
				continue
			}
			if stopped(stop) {
				return ErrStopped
			}
			if ok, err := f.keepBundle(&e); err != nil {
				return err
			} else if !ok {
				continue
			}
		}
		entries = append(entries, e)
	}
	for _, e := range f.old.Bundles {
		if _, ok := bundleEntry(entries, e.Name); !ok && e.Status != Failed {
			f.sum.Dropped = append(f.sum.Dropped, Dropped{"bundle " + e.Name, "the source has no such bundle any more, or its files are gone"})
		}
	}
	f.bundles = entries
	return nil
}

func bundleEntry(list []BundleEntry, name string) (BundleEntry, bool) {
	for _, e := range list {
		if e.Name == name {
			return e, true
		}
	}
	return BundleEntry{}, false
}

// keepBundle brings one bundle over. False if there is nothing to bring.
func (f *Folder) keepBundle(e *BundleEntry) (bool, error) {
	if e.Status == Failed {
		return true, nil
	}
	old := os.DirFS(f.dir)
	folder := bundleFolder(e.Name)
	names, err := bundleListed(old, folder)
	if err != nil || names == nil {
		return false, err
	}
	list := []File{}
	for _, name := range append(names, bundleFile) {
		data, err := readWithin(old, folder+"/"+bundleFile, name)
		if errors.Is(err, fs.ErrNotExist) {
			return false, nil
		}
		if err != nil {
			return false, cant(filepath.Join(f.shown, filepath.FromSlash(folder)), "read", err)
		}
		list = append(list, File{name, data})
	}
	if e.Digest == nil || Digest(list) != *e.Digest {
		return false, &Error{Path: filepath.Join(f.shown, filepath.FromSlash(folder)), Problem: "was changed after it was built: build its tunes too, or move it elsewhere"}
	}
	f.stand(folder, paths(list))
	e.Status = Kept
	f.sum.KeptBundles = append(f.sum.KeptBundles, e.Name)
	return true, nil
}
