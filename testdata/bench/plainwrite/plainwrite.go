//go:build linux

// Package plainwrite writes files that are in memory, as a plain program would
// that gives what a build gives: a new folder beside the old one, on the disk
// before it takes the old one's place, in one step. What a build takes is
// compared with it.
//
// In: names and bytes. Out: a folder. For benchmarks; linux only, as they are.
package plainwrite

import (
	"errors"
	"os"
	"path/filepath"
	"sort"
	"sync"

	"golang.org/x/sys/unix"
)

// File is one file, by its path within the folder.
type File struct {
	Path string
	Data []byte
}

// Read takes a folder into memory, its files in the order of their paths.
func Read(dir string) ([]File, error) {
	var out []File
	err := filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		name, err := filepath.Rel(dir, path)
		out = append(out, File{name, data})
		return err
	})
	return out, err
}

// Write puts files into a folder, in place of what it was, with so many workers.
func Write(dir string, files []File, workers int) error {
	tmp := dir + ".new"
	if err := makeFolders(tmp, files); err != nil {
		return err
	}
	if err := writeAll(tmp, files, workers); err != nil {
		return err
	}
	d, err := os.Open(tmp)
	if err != nil {
		return err
	}
	err = unix.Syncfs(int(d.Fd()))
	if err := errors.Join(err, d.Close()); err != nil {
		return err
	}
	if _, err := os.Stat(dir); err != nil {
		return os.Rename(tmp, dir)
	}
	if err := unix.Renameat2(unix.AT_FDCWD, tmp, unix.AT_FDCWD, dir, unix.RENAME_EXCHANGE); err != nil {
		return err
	}
	return os.RemoveAll(tmp)
}

// makeFolders makes every folder that a file is in.
func makeFolders(tmp string, files []File) error {
	made := map[string]bool{}
	for _, f := range files {
		made[filepath.Dir(f.Path)] = true
	}
	list := make([]string, 0, len(made))
	for name := range made {
		list = append(list, name)
	}
	sort.Strings(list)
	for _, name := range list {
		if err := os.MkdirAll(filepath.Join(tmp, name), 0o777); err != nil {
			return err
		}
	}
	return nil
}

// writeAll writes the files, each worker every so many-th run of them.
func writeAll(tmp string, files []File, workers int) error {
	failed := make([]error, workers)
	var wg sync.WaitGroup
	for k := range workers {
		wg.Go(func() {
			for i := k * len(files) / workers; i < (k+1)*len(files)/workers; i++ {
				if err := create(filepath.Join(tmp, files[i].Path), files[i].Data); err != nil {
					failed[k] = err
					return
				}
			}
		})
	}
	wg.Wait()
	return errors.Join(failed...)
}

func create(path string, data []byte) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	return errors.Join(err, f.Close())
}
