//go:build linux

package emit

import (
	"errors"
	"os"

	"golang.org/x/sys/unix"
)

// exchange swaps two folders at once, so that at every moment one of them stands
// at dir. A file system without that gets two renames.
func exchange(tmp, dir, away string) error {
	err := unix.Renameat2(unix.AT_FDCWD, tmp, unix.AT_FDCWD, dir, unix.RENAME_EXCHANGE)
	if errors.Is(err, unix.ENOSYS) || errors.Is(err, unix.EINVAL) || errors.Is(err, unix.ENOTSUP) {
		return twoRenames(tmp, dir, away)
	}
	return err
}

// syncTree waits until a folder and all that is in it is on the disk, of which so
// many files are new.
func syncTree(dir string, files int) error {
	if files < manyFiles {
		return syncEach(dir)
	}
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer d.Close()
	switch err := unix.Syncfs(int(d.Fd())); {
	case errors.Is(err, unix.ENOSYS):
		return syncEach(dir)
	case err != nil:
		return &os.PathError{Op: "sync", Path: dir, Err: err}
	}
	return nil
}
