package emit

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
)

// twoRenames swaps two folders by way of a third name. If the build is killed
// between the renames, the next one finds the old output aside and puts it back.
func twoRenames(tmp, dir, aside string) error {
	if err := os.RemoveAll(aside); err != nil {
		return err
	}
	if err := os.Rename(dir, aside); err != nil {
		return err
	}
	if err := os.Rename(tmp, dir); err != nil {
		return errors.Join(err, os.Rename(aside, dir))
	}
	// The new output is in place; if the old one stays aside, the next build
	// clears it away.
	_ = os.Rename(aside, tmp)
	return nil
}

// syncEach waits until each file and folder of a tree is on the disk.
func syncEach(dir string) error {
	return filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			syncFolder(path)
			return nil
		}
		f, err := os.OpenFile(path, os.O_RDWR, 0)
		if err != nil {
			return err
		}
		return errors.Join(f.Sync(), f.Close())
	})
}

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
