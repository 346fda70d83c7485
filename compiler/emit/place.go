package emit

import (
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
)

// Where an output stands, what may not be replaced, and what stands beside it
// while a build runs: a lock, and the new folder.

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
			return &Error{Path: f.shown, Problem: "is being written by another build: wait until it is done" + lockHint(f.sibling("lock")), Err: err}
		}
		if st, err := os.Lstat(f.sibling("lock")); err == nil && !st.Mode().IsRegular() {
			return &Error{Path: f.sibling("lock"), Problem: "is in the way of the build's lock, and isn't of a build: remove it", Err: err}
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
	if f.in, err = f.place(f.tmp); err != nil {
		return cant(f.tmp, "read", err)
	}
	if f.ours != nil {
		if f.was, err = f.place(f.dir); err != nil {
			return cant(f.shown, "read", err)
		}
		if f.wasDir, err = os.Stat(f.dir); err != nil {
			return cant(f.shown, "read", err)
		}
	}
	f.entries = &entries{path: filepath.Join(f.tmp, ".entries")}
	return nil
}

// place opens a folder until the end of the build.
func (f *Folder) place(dir string) (place, error) {
	p, err := openPlace(dir)
	if err == nil {
		f.places = append(f.places, p)
	}
	return p, err
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
	read := readNames
	if f.keep {
		read = ReadIndex
	}
	old, err := read(os.DirFS(f.dir))
	var other *VersionError
	switch {
	case errors.As(err, &other):
		return &Error{Path: f.shown, Problem: "was built by another version of fettle (" + other.Found + "): remove it, or name another folder", Err: err}
	case errors.Is(err, fs.ErrPermission):
		return cant(filepath.Join(f.shown, indexFile), "read", err)
	case err != nil:
		return &Error{Path: f.shown, Problem: "is not a folder that fettle built: name a new or an empty one", Err: err}
	}
	if f.ours, err = oursOf(os.DirFS(f.dir), f.shown, old); err != nil {
		return err
	}
	if f.keep {
		f.old = old
	}
	_, err = f.oursOnly()
	return err
}

// aside is where the old output waits while exchange needs two renames.
const aside = "new-old"

// leftover says whether a name is of a new folder, or of one that was put aside.
func (f *Folder) leftover(name string) bool {
	end, ok := strings.CutPrefix(name, filepath.Base(f.sibling("new-")))
	_, err := strconv.ParseUint(end, 16, 32)
	return ok && (len(end) == 8 && err == nil || name == filepath.Base(f.sibling(aside)))
}

// recover puts right what a killed build left beside the output. Under the lock
// whatever is there is of no living build; without locks there is no telling.
func (f *Folder) recover() {
	if !f.lock.held() {
		return
	}
	if old := f.sibling(aside); exists(old) && !exists(f.dir) {
		_ = os.Rename(old, f.dir) // it was killed between the two renames
	}
	parent := filepath.Dir(f.dir)
	entries, err := os.ReadDir(parent)
	if err != nil {
		return
	}
	for _, e := range entries {
		if e.IsDir() && f.leftover(e.Name()) {
			_ = os.RemoveAll(filepath.Join(parent, e.Name())) // it is in nobody's way if it stays
		}
	}
}

func exists(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}
