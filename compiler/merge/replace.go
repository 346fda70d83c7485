package merge

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// Replace puts a text in the place of a file, whole or not at all. It keeps the
// file's permissions, and a link a link.
func Replace(name, text string) error {
	mode := fs.FileMode(0o644)
	if real, err := filepath.EvalSymlinks(name); err == nil {
		name = real
	}
	st, err := os.Stat(name)
	switch {
	case err == nil && !st.Mode().IsRegular():
		return fmt.Errorf("%s is not a plain file", name)
	case err == nil:
		mode = st.Mode().Perm()
	case !errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("%s can't be written: %w", name, err)
	}
	tmp, err := os.CreateTemp(filepath.Dir(name), "."+filepath.Base(name)+".new-*")
	if err != nil {
		return fmt.Errorf("%s can't be written: %w", name, err)
	}
	defer os.Remove(tmp.Name()) // nothing, once it has been renamed
	_, err = tmp.WriteString(text)
	if err == nil {
		err = tmp.Chmod(mode)
	}
	if err == nil {
		err = tmp.Sync()
	}
	if cerr := tmp.Close(); err == nil {
		err = cerr
	}
	if err == nil {
		err = os.Rename(tmp.Name(), name)
	}
	if err != nil {
		return fmt.Errorf("%s can't be written: %w", name, err)
	}
	return nil
}
