package emit

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
)

// Folder writes an output folder anew. Nothing of the old output changes before
// Close has the whole new one on the disk. Not for use by two goroutines.
type Folder struct {
	shown    string // the folder as the caller names it
	dir      string // where it really is
	tmp      string // the new folder, beside it
	made     string // the topmost of its parents that had to be made, or ""
	lock     *lock
	old      *Index // what a build with keepOthers keeps from, or nil
	keep     bool
	ours     *ours  // what may stand in the old output; nil if there was none
	first    *Input // what all tunes share: the program and its source
	entries  []Entry
	bundles  []BundleEntry
	sum      Summary
	finished bool
	err      error // the first error, after which nothing works
	write    func(path string, data []byte) error
	link     func(from, to string) error
}

// Summary says what a build did.
type Summary struct {
	Dir          string
	Written      []string
	Failed       []string
	Kept         []string
	Removed      []string  // of Failed: those whose tables of an earlier build are gone now
	FailedBefore []string  // not built now, and still listed as failed
	Dropped      []Dropped // tunes of the old output that couldn't be kept
	Bundles      []string  // written
	KeptBundles  []string
	Files        int // written, not kept
	Bytes        int64
	Left         string // a folder that couldn't be removed, or ""
}

// Dropped is a tune of the old output that the new one doesn't have.
type Dropped struct {
	Name, Why string
}

// NewFolder begins a new output in place of the folder dir, which may not hold
// the workspace nor, at any depth, anything that no build wrote. With keepOthers
// the tunes of the old output that aren't added stay, as long as the source has
// them. Close or Abort must follow.
func NewFolder(dir, workspace string, keepOthers bool) (*Folder, error) {
	f := &Folder{shown: filepath.Clean(dir), keep: keepOthers, write: create, link: os.Link}
	f.sum.Dir = f.shown
	if dir == "" {
		return nil, &Error{Path: "the output", Problem: "has no name"}
	}
	if err := f.locate(dir, workspace); err != nil {
		return nil, err
	}
	if err := f.begin(); err != nil {
		f.Abort()
		return nil, err
	}
	return f, nil
}

// Add writes a tune, or notes why it fails. An error is final: the new folder is
// gone, and the old output stands.
func (f *Folder) Add(in Input) error {
	if f.finished {
		return f.ended()
	}
	if f.first == nil {
		f.first = &Input{Program: in.Program, Source: in.Source}
	}
	if in.Fails() {
		f.entries = append(f.entries, failed(&in))
		f.sum.Failed = append(f.sum.Failed, in.Tune.Name)
		f.losing(in.Tune.Name)
		return nil
	}
	list, err := files(in)
	if err == nil {
		err = f.tune(in.Tune.Name, list)
	}
	if err != nil {
		return f.fail(err)
	}
	f.entries = append(f.entries, written(&in, list))
	f.sum.Written = append(f.sum.Written, in.Tune.Name)
	return nil
}

// tune writes the folder of one tune.
func (f *Folder) tune(name string, list []File) error {
	if err := f.mkdir(name); err != nil {
		return err
	}
	if err := f.mkdirs(name, list); err != nil {
		return err
	}
	for _, file := range list {
		if err := f.put(filepath.Join(filepath.FromSlash(name), filepath.FromSlash(file.Path)), file.Data); err != nil {
			return err
		}
	}
	return nil
}

// mkdir makes the folder of one tune.
func (f *Folder) mkdir(name string) error {
	path := filepath.FromSlash(name)
	shown := filepath.Join(f.shown, path)
	if !filepath.IsLocal(path) || path == "." {
		return &Error{Path: shown, Problem: "can't be made: this system has no folder of that name"}
	}
	if err := os.MkdirAll(filepath.Dir(filepath.Join(f.tmp, path)), 0o777); err != nil {
		return cant(filepath.Dir(shown), "made", err)
	}
	if err := os.Mkdir(filepath.Join(f.tmp, path), 0o777); err != nil {
		return cant(shown, "made", err)
	}
	return nil
}

// mkdirs makes the folders within a tune's that its files are in.
func (f *Folder) mkdirs(name string, list []File) error {
	made := map[string]bool{}
	for _, file := range list {
		if folder, _, deep := strings.Cut(file.Path, "/"); deep && !made[folder] {
			made[folder] = true
			if err := f.mkdir(name + "/" + folder); err != nil {
				return err
			}
		}
	}
	return nil
}

// put writes one file of the new folder.
func (f *Folder) put(path string, data []byte) error {
	if err := f.write(filepath.Join(f.tmp, path), data); err != nil {
		return cant(filepath.Join(f.shown, path), "written", err)
	}
	f.sum.Files++
	f.sum.Bytes += int64(len(data))
	return nil
}

// create writes a file that isn't there yet.
func create(path string, data []byte) error {
	w, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return err
	}
	_, err = w.Write(data)
	return errors.Join(err, w.Close())
}

// Close completes the new folder and puts it in the place of the old one. Until
// it has, a receive from stop ends the build with ErrStopped. After an error the
// old output stands as it was.
func (f *Folder) Close(stop <-chan struct{}) (Summary, error) {
	if f.finished {
		return f.sum, f.ended()
	}
	if f.first == nil {
		return f.sum, f.fail(&Error{Path: f.shown, Problem: "is left as it was: there is no tune to write"})
	}
	for _, step := range []func(<-chan struct{}) error{f.keepOthers, f.keepBundles, f.index, f.settle, f.swap} {
		if stopped(stop) {
			return f.sum, f.fail(ErrStopped)
		}
		if err := step(stop); err != nil {
			return f.sum, f.fail(err)
		}
	}
	f.made = ""
	f.Abort() // what is in the place of the new folder now is the old one
	f.err = nil
	return f.sum, nil
}

func stopped(stop <-chan struct{}) bool {
	select {
	case <-stop:
		return true
	default:
		return false
	}
}

func (f *Folder) index(<-chan struct{}) error {
	data, err := index(f.first, f.entries, f.bundles)
	if err != nil {
		return err
	}
	return f.put(indexFile, data)
}

// settle sees that the new folder is on the disk.
func (f *Folder) settle(<-chan struct{}) error {
	if st, err := os.Stat(f.dir); err == nil {
		if err := os.Chmod(f.tmp, st.Mode().Perm()); err != nil {
			return cant(f.shown, "written", err)
		}
	}
	if err := syncTree(f.tmp, f.sum.Files); err != nil {
		return cant(f.shown, "written", err)
	}
	return nil
}

// swap puts the new folder in the place of the old one.
func (f *Folder) swap(<-chan struct{}) error {
	there, err := f.oursOnly()
	if err != nil { // it came there since the beginning
		return err
	}
	if there {
		err = exchange(f.tmp, f.dir, f.sibling(aside))
	} else {
		err = os.Rename(f.tmp, f.dir)
	}
	if err != nil {
		return cant(f.shown, "replaced", err)
	}
	syncFolder(filepath.Dir(f.dir))
	return nil
}

// Abort ends the build and leaves the old output as it was. After Close, or a
// second time, it does nothing.
func (f *Folder) Abort() {
	if f.finished {
		return
	}
	f.finished = true
	if f.tmp != "" {
		if err := os.RemoveAll(f.tmp); err != nil {
			f.sum.Left = f.tmp
		}
	}
	f.lock.release()
	f.unmake()
	f.err = ErrStopped
}

// fail aborts for an error and gives it back.
func (f *Folder) fail(err error) error {
	f.Abort()
	f.err = err
	return err
}

// ended is what a call gets that comes too late.
func (f *Folder) ended() error {
	if f.err != nil {
		return f.err
	}
	return &Error{Path: f.shown, Problem: "is closed already"}
}
