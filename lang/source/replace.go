package source

import (
	"fmt"
	"os"
	"path/filepath"
)

// Replace puts a text in the place of a file on the disk, or where there is none
// yet: whole, or not at all. A file keeps its permissions; a new one gets those
// that people's files have. A name that is a symbolic link's is followed.
func Replace(name, text string) error {
	fault := func(err error) error { return fmt.Errorf("%s can't be written: %w", name, err) }
	mode := os.FileMode(0o644)
	if real, err := filepath.EvalSymlinks(name); err == nil {
		name = real
	}
	if st, err := os.Stat(name); err == nil {
		if !st.Mode().IsRegular() {
			return fmt.Errorf("%s isn't a plain file, and isn't written", name)
		}
		mode = st.Mode().Perm()
	}
	tmp, err := os.CreateTemp(filepath.Dir(name), "."+filepath.Base(name)+".new-*")
	if err != nil {
		return fault(err)
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
		return fault(err)
	}
	return nil
}
