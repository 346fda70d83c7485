package emit

import (
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
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
	ours     map[string]bool // what may stand in the old output; nil if it had nothing
	first    *Input          // what all tunes share: the program and its source
	entries  []Entry
	sum      Summary
	finished bool
	err      error // the first error, after which nothing works
	write    func(path string, data []byte) error
}

// Summary says what a build did.
type Summary struct {
	Dir          string
	Written      []string
	Failed       []string
	Kept         []string
	FailedBefore []string  // not built now, and still listed as failed
	Dropped      []Dropped // tunes of the old output that couldn't be kept
	Files        int       // written, not kept
	Bytes        int64
	Left         string // a folder that couldn't be removed, or ""
}

// Dropped is a tune of the old output that the new one doesn't have.
type Dropped struct {
	Name, Why string
}

// NewFolder begins a new output in place of the folder dir, which may not hold
// the workspace nor anything that a build didn't write. With keepOthers the tunes
// of the old output that aren't added stay, as long as the source has them.
// Close or Abort must follow.
func NewFolder(dir, workspace string, keepOthers bool) (*Folder, error) {
	f := &Folder{shown: filepath.Clean(dir), keep: keepOthers, write: create}
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

// locate finds where the output really is, and makes its parents.
func (f *Folder) locate(dir, workspace string) error {
	abs, err := filepath.Abs(dir)
	if err != nil {
		return cant(f.shown, "found", err)
	}
	st, err := os.Lstat(abs)
	if err == nil && st.Mode()&fs.ModeSymlink != 0 {
		real, err := filepath.EvalSymlinks(abs)
		if err != nil {
			return &Error{Path: f.shown, Problem: "is a link that leads nowhere", Err: err}
		}
		abs = real
		st, err = os.Stat(abs)
		if err != nil {
			return cant(f.shown, "read", err)
		}
	}
	f.dir = abs
	switch {
	case err == nil && !st.IsDir():
		return &Error{Path: f.shown, Problem: "is a file, not a folder"}
	case err == nil:
		return f.apart(st, workspace)
	case !errors.Is(err, fs.ErrNotExist):
		return cant(f.shown, "read", err)
	}
	return f.makeParents()
}

// apart refuses a folder that is the workspace or holds it.
func (f *Folder) apart(st fs.FileInfo, workspace string) error {
	if workspace == "" {
		return nil
	}
	abs, err := filepath.Abs(workspace)
	if err == nil {
		abs, err = filepath.EvalSymlinks(abs)
	}
	if err != nil {
		return cant(workspace, "found", err)
	}
	for at := abs; ; at = filepath.Dir(at) {
		if up, err := os.Stat(at); err == nil && os.SameFile(st, up) {
			what := "is the workspace itself"
			if at != abs {
				what = "holds the workspace"
			}
			return &Error{Path: f.shown, Problem: what + ": a build would replace it; name another folder"}
		}
		if filepath.Dir(at) == at {
			return nil
		}
	}
}

func (f *Folder) makeParents() error {
	parent := filepath.Dir(f.dir)
	top := ""
	for at := parent; ; at = filepath.Dir(at) {
		if _, err := os.Stat(at); err == nil || filepath.Dir(at) == at {
			break
		}
		top = at
	}
	if top == "" {
		return nil
	}
	f.made = top
	if err := os.MkdirAll(parent, 0o777); err != nil {
		f.unmake()
		return cant(parent, "made", err)
	}
	return nil
}

// unmake removes the parents that were made, where nothing stands in them.
func (f *Folder) unmake() {
	if f.made == "" {
		return
	}
	for at := filepath.Dir(f.dir); strings.HasPrefix(at, f.made); at = filepath.Dir(at) {
		if os.Remove(at) != nil {
			return
		}
	}
}

// sibling is a name beside the output: ".out.new-1a2b".
func (f *Folder) sibling(what string) string {
	return filepath.Join(filepath.Dir(f.dir), "."+filepath.Base(f.dir)+"."+what)
}

// begin locks the output, clears away what a killed build left, looks at the old
// output and makes the new folder.
func (f *Folder) begin() error {
	var err error
	if f.lock, err = lockFile(f.sibling("lock")); err != nil {
		if errors.Is(err, errLocked) {
			return &Error{Path: f.shown, Problem: "is being written by another build: wait until it is done", Err: err}
		}
		return cant(filepath.Dir(f.dir), "written in", err)
	}
	f.recover()
	if err := f.look(); err != nil {
		return err
	}
	for range 100 {
		f.tmp = f.sibling(fmt.Sprintf("new-%08x", rand.Uint32()))
		if err = os.Mkdir(f.tmp, 0o777); !errors.Is(err, fs.ErrExist) {
			break
		}
	}
	if err != nil {
		f.tmp = ""
		return cant(filepath.Dir(f.dir), "written in", err)
	}
	return nil
}

// look refuses an old output that a build didn't write, or that holds anything
// else, and reads its index if it is to be kept from.
func (f *Folder) look() error {
	entries, err := os.ReadDir(f.dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return cant(f.shown, "read", err)
	case len(entries) == 0:
		return nil
	}
	old, err := ReadIndex(os.DirFS(f.dir))
	var other *VersionError
	switch {
	case errors.As(err, &other):
		return &Error{Path: f.shown, Problem: "was built by another version of fettle (" + other.Found + "): remove it, or name another folder", Err: err}
	case errors.Is(err, fs.ErrPermission):
		return cant(filepath.Join(f.shown, indexFile), "read", err)
	case err != nil:
		return &Error{Path: f.shown, Problem: "is not a folder that fettle built: name a new or an empty one", Err: err}
	}
	f.ours = map[string]bool{indexFile: true, ".DS_Store": true, "Thumbs.db": true, "desktop.ini": true}
	for _, e := range old.Tunes {
		top, _, _ := strings.Cut(e.Name, "/")
		f.ours[top] = true
	}
	if f.keep {
		f.old = old
	}
	return f.oursOnly(entries)
}

// oursOnly refuses to replace what a build didn't write.
func (f *Folder) oursOnly(entries []fs.DirEntry) error {
	for _, e := range entries {
		if !f.ours[e.Name()] {
			return &Error{Path: filepath.Join(f.shown, e.Name()), Problem: "is not of a build, and a build replaces its whole folder: move it elsewhere"}
		}
	}
	return nil
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
	for _, file := range list {
		if err := f.put(filepath.Join(filepath.FromSlash(name), file.Path), file.Data); err != nil {
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
	for _, step := range []func(<-chan struct{}) error{f.keepOthers, f.index, f.settle, f.swap} {
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
	data, err := index(f.first, f.entries)
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
	if err := syncTree(f.tmp); err != nil {
		return cant(f.shown, "written", err)
	}
	return nil
}

// swap puts the new folder in the place of the old one.
func (f *Folder) swap(<-chan struct{}) error {
	entries, err := os.ReadDir(f.dir)
	switch {
	case err == nil:
		if err := f.oursOnly(entries); err != nil { // it came there since the beginning
			return err
		}
		err = exchange(f.tmp, f.dir, f.sibling("old"))
	case errors.Is(err, fs.ErrNotExist):
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
