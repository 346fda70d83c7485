package source

import (
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"time"
)

// How a file is written. The new text is made beside it, in a draft: a file of the
// name ".NAME.new-1a2b3c4d", locked as long as its writer lives. Once it is on the
// disk it takes the file's place in one step, so that whenever the writer is killed
// the old file is there, or the new one, whole. A draft that nobody holds is of a
// writer that was killed, and the next one removes it.

// Replace puts a text in the place of a file on the disk, or where there is none
// yet: whole, or not at all. A file keeps its permissions and, as far as the system
// lets us, its owner and group; a new one gets what any new file gets. Of a name
// that is a symbolic link's the file that it leads to is replaced; one that leads
// nowhere is refused.
func Replace(name, text string) error {
	real, old, err := standing(name)
	if err != nil {
		return err
	}
	d, err := newDraft(real, old)
	if err != nil {
		return cantWrite(name, err)
	}
	defer d.drop()
	if err := d.fill(text, old); err != nil {
		return cantWrite(name, err)
	}
	if err := d.rename(real); err != nil {
		return cantWrite(name, err)
	}
	return nil
}

// Create puts a text where there is no file yet, whole or not at all. The error is
// fs.ErrExist if anything is there, which stays as it is.
func Create(name, text string) error {
	clearDrafts(filepath.Dir(name), draftPrefix(name))
	if _, err := os.Lstat(name); err == nil {
		return fs.ErrExist
	}
	d, err := newDraft(name, nil)
	if err != nil {
		return cantWrite(name, err)
	}
	defer d.drop()
	if err := d.fill(text, nil); err != nil {
		return cantWrite(name, err)
	}
	// A second name is given only where there is none of that name; disks that know
	// no second names have to do with the look that was taken.
	err = os.Link(d.file.Name(), name)
	if err != nil && !errors.Is(err, fs.ErrExist) {
		if _, there := os.Lstat(name); there == nil {
			return fs.ErrExist
		}
		err = d.rename(name)
	}
	if err == nil {
		syncFolder(filepath.Dir(name))
		return nil
	}
	if errors.Is(err, fs.ErrExist) {
		return fs.ErrExist
	}
	return cantWrite(name, err)
}

// standing finds what is to be replaced: where it really is, and what is known of
// it; nil if there is nothing.
func standing(name string) (string, fs.FileInfo, error) {
	real := name
	if st, err := os.Lstat(name); err == nil && st.Mode()&fs.ModeSymlink != 0 {
		if real, err = filepath.EvalSymlinks(name); err != nil {
			return "", nil, fmt.Errorf("%s is a link that leads nowhere, and isn't written", name)
		}
	}
	switch st, err := os.Stat(real); {
	case errors.Is(err, fs.ErrNotExist):
		return real, nil, nil
	case err != nil:
		return "", nil, cantWrite(name, err)
	case !st.Mode().IsRegular():
		return "", nil, fmt.Errorf("%s isn't a plain file, and isn't written", name)
	default:
		return real, st, nil
	}
}

// draft is a text on its way to its place.
type draft struct {
	file *os.File
	done bool // it has gone there
}

// newDraft makes one beside a file, of which old is known.
func newDraft(name string, old fs.FileInfo) (*draft, error) {
	dir, prefix := filepath.Dir(name), draftPrefix(name)
	clearDrafts(dir, prefix)
	mode := fs.FileMode(0o666) // less what the user's umask takes away
	if old != nil {
		mode = 0o600 // until it is the old one's
	}
	for range 100 {
		path := filepath.Join(dir, fmt.Sprintf("%s%08x", prefix, rand.Uint32()))
		f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_EXCL, mode)
		if errors.Is(err, fs.ErrExist) {
			continue
		}
		if err != nil {
			return nil, err
		}
		// Whoever clears drafts may have found it before it was locked.
		if err := lockDraft(f); !errors.Is(err, errHeld) && sameFile(f, path) {
			return &draft{file: f}, nil
		}
		_ = f.Close()
	}
	return nil, errors.New("its folder is in too much use")
}

// fill writes the draft, and waits until it is on the disk.
func (d *draft) fill(text string, old fs.FileInfo) error {
	if _, err := d.file.WriteString(text); err != nil {
		return err
	}
	if old != nil {
		keepOwner(d.file, old) // first, since it may take permissions away
		if err := d.file.Chmod(old.Mode().Perm()); err != nil {
			return err
		}
	}
	return d.file.Sync()
}

// rename puts the draft in its place.
func (d *draft) rename(to string) error {
	if runtime.GOOS == "windows" { // an open file has to stay where it is there
		if err := d.file.Close(); err != nil {
			return err
		}
	}
	if err := os.Rename(d.file.Name(), to); err != nil {
		return err
	}
	d.done = true
	syncFolder(filepath.Dir(to))
	return nil
}

// drop removes what isn't in its place, and lets go of it.
func (d *draft) drop() {
	if runtime.GOOS == "windows" {
		_ = d.file.Close()
	}
	if !d.done {
		_ = os.Remove(d.file.Name())
	}
	_ = d.file.Close()
}

// draftPrefix is what the names of a file's drafts begin with. What is longer than
// a name may be on most disks is cut.
func draftPrefix(name string) string {
	base := filepath.Base(name)
	return "." + base[:min(len(base), 200)] + ".new-"
}

// staleDraft is the age at which a draft is taken for that of a killed writer,
// where there are no locks to tell.
const staleDraft = time.Hour

// clearDrafts removes the drafts that killed writers left in a folder.
func clearDrafts(dir, prefix string) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return
	}
	for _, e := range entries {
		end, ok := strings.CutPrefix(e.Name(), prefix)
		if _, err := strconv.ParseUint(end, 16, 32); !ok || len(end) != 8 || err != nil || !e.Type().IsRegular() {
			continue
		}
		path := filepath.Join(dir, e.Name())
		f, err := os.Open(path)
		if err != nil {
			continue
		}
		err = lockDraft(f)
		st, err2 := f.Stat()
		if runtime.GOOS == "windows" {
			_ = f.Close()
		}
		if err == nil || errors.Is(err, errors.ErrUnsupported) && err2 == nil && time.Since(st.ModTime()) > staleDraft {
			_ = os.Remove(path) // it is in nobody's way if it stays
		}
		_ = f.Close()
	}
}

func sameFile(f *os.File, path string) bool {
	a, err := f.Stat()
	b, err2 := os.Lstat(path)
	return err == nil && err2 == nil && os.SameFile(a, b)
}

// errHeld says that another process holds a draft.
var errHeld = errors.New("another process holds it")

// syncFolder waits until the names in a folder are on the disk, where the system
// has a way to say so.
func syncFolder(dir string) {
	if runtime.GOOS == "windows" {
		return
	}
	if f, err := os.Open(dir); err == nil {
		_ = f.Sync()
		_ = f.Close()
	}
}
