package emit

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"sync"
)

// twoRenames swaps two folders by way of a third name. If the build is killed
// between the renames, the next one finds the old output aside and puts it back.
func twoRenames(tmp, dir, away string) error {
	if err := os.RemoveAll(away); err != nil {
		return err
	}
	if err := os.Rename(dir, away); err != nil {
		return err
	}
	if err := os.Rename(tmp, dir); err != nil {
		return errors.Join(err, os.Rename(away, dir))
	}
	// The new output is in place; if the old one stays aside, the next build
	// clears it away.
	_ = os.Rename(away, tmp)
	return nil
}

// manyFiles is from how many files on the whole file system is synced at once:
// that takes the same time for any number, but waits for others' files too.
const manyFiles = 1000

// syncEach waits until each file and folder of a tree is on the disk. The disk
// does several at once in the time that it takes for one.
func syncEach(dir string) error {
	var wg sync.WaitGroup
	var mu sync.Mutex
	var failed error
	places := make(chan struct{}, 16)
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		places <- struct{}{}
		wg.Go(func() {
			defer func() { <-places }()
			if d.IsDir() {
				syncFolder(path)
			} else if err := syncFile(path); err != nil {
				mu.Lock()
				failed = errors.Join(failed, err)
				mu.Unlock()
			}
		})
		return nil
	})
	wg.Wait()
	return errors.Join(err, failed)
}

func syncFile(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if errors.Is(err, fs.ErrPermission) {
		f, err = os.Open(path) // someone wrote protected what stands
	}
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
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
