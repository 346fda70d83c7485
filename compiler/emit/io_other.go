//go:build !linux

package emit

import (
	"errors"
	"os"
	"path/filepath"
)

// place is a folder in which files are made by names within it.
type place struct {
	dir string
}

// anywhere is the place of whole paths.
var anywhere = place{}

func openPlace(dir string) (place, error) { return place{dir}, nil }

func (p place) close() {}

// create writes a file that isn't there yet.
func (p place) create(path string, data []byte) error {
	w, err := os.OpenFile(filepath.Join(p.dir, path), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return err
	}
	_, err = w.Write(data)
	return errors.Join(err, w.Close())
}

// mkdir makes a folder that isn't there yet.
func (p place) mkdir(path string) error { return os.Mkdir(filepath.Join(p.dir, path), 0o777) }

// link gives a file of another place the same name in this one.
func (p place) link(from place, path string) error {
	return os.Link(filepath.Join(from.dir, path), filepath.Join(p.dir, path))
}

// open opens a file for reading, but no link, folder or pipe.
func (p place) open(path string) (*os.File, error) {
	path = filepath.Join(p.dir, path)
	st, err := os.Lstat(path)
	if err != nil {
		return nil, err
	}
	if !st.Mode().IsRegular() {
		return nil, &os.PathError{Op: "open", Path: path, Err: os.ErrInvalid}
	}
	return os.Open(path)
}
