package source

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"
	"unicode/utf8"
)

// MainName is the file that makes a folder a workspace.
const MainName = "tune.fettle"

// MaxFile is the largest text that is read, in bytes.
const MaxFile = 10 << 20

// ErrNoWorkspace says that no folder from here upwards is a workspace.
var ErrNoWorkspace = errors.New("no " + MainName + " here or in any folder above")

// FindWorkspace walks upwards from dir to the folder that holds tune.fettle.
func FindWorkspace(dir string) (string, error) {
	abs, err := filepath.Abs(dir)
	if err != nil {
		return "", err
	}
	for d := abs; ; {
		if st, err := os.Stat(filepath.Join(d, MainName)); err == nil && st.Mode().IsRegular() {
			return d, nil
		}
		up := filepath.Dir(d)
		if up == d {
			return "", ErrNoWorkspace
		}
		d = up
	}
}

// OpenFolder gives a folder's files; names that lead out of it, by ".." or by
// a symbolic link, are refused by the operating system's own rooted opening.
func OpenFolder(dir string) (fs.FS, io.Closer, error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, nil, err
	}
	return root.FS(), root, nil
}

// Within says whether a path is of a folder or of what is below it. Both are as they
// really are, without links.
func Within(dir, path string) bool {
	rel, err := filepath.Rel(dir, path)
	return err == nil && filepath.IsLocal(rel)
}

// ReadText reads one text of a workspace. The error is worded for a tuner.
func ReadText(fsys fs.FS, name string) (*File, error) {
	if strings.Contains(name, `\`) {
		return nil, fmt.Errorf("%q has a backslash: write / between folders", name)
	}
	if path.IsAbs(name) || !fs.ValidPath(name) {
		return nil, fmt.Errorf("%q leads out of the workspace: name a file inside it, without a leading / and without `..` in it", name)
	}
	if err := portable(name); err != nil {
		return nil, err
	}
	// Looked at before it is opened: opening a pipe would wait for its writer.
	st, err := fs.Stat(fsys, name)
	if err != nil {
		return nil, cantOpen(name, err)
	}
	if !st.Mode().IsRegular() {
		return nil, fmt.Errorf("%q is not a plain file", name)
	}
	f, err := fsys.Open(name)
	if err != nil {
		return nil, cantOpen(name, err)
	}
	defer f.Close()
	if st.Size() > MaxFile {
		return nil, fmt.Errorf("%q has %d bytes; the most that is read is %d", name, st.Size(), MaxFile)
	}
	var buf bytes.Buffer
	buf.Grow(int(st.Size()) + bytes.MinRead)
	_, err = buf.ReadFrom(io.LimitReader(f, MaxFile+1))
	b := buf.Bytes()
	if err != nil {
		return nil, fmt.Errorf("%q can't be read: %v", name, plain(err))
	}
	if len(b) > MaxFile {
		return nil, fmt.Errorf("%q has over %d bytes, the most that is read", name, MaxFile)
	}
	if !utf8.Valid(b) {
		return nil, fmt.Errorf("%q is not UTF-8 text: save it as UTF-8", name)
	}
	for i := bytes.IndexByte(b, '\r'); i >= 0 && i < len(b); i++ {
		if b[i] == '\r' && (i+1 == len(b) || b[i+1] != '\n') {
			// Read as white space, it would hide all that follows a comment.
			return nil, fmt.Errorf("%q has a carriage return that ends no line: save it with the line ends of Unix or Windows", name)
		}
	}
	return New(name, string(b)), nil
}

func cantOpen(name string, err error) error {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("there is no file %q in the workspace", name)
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("%q may not be read: permission denied", name)
	}
	return fmt.Errorf("%q can't be opened: %v", name, plain(err))
}

// plain drops the operation and path that the os package puts before a cause.
func plain(err error) error {
	var pe *fs.PathError
	if errors.As(err, &pe) {
		return pe.Err
	}
	return err
}
