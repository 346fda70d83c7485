package emit

import (
	"bytes"
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"sync/atomic"
)

// A file of the old output that is, byte for byte, what would be written isn't
// written again: the new folder gets a link to it, so that it keeps its time and
// its number. A tune all of whose files are so is only noted until the build is
// closed; if there is nothing but such tunes, the old output stays as it is.
//
// No file is ever written in place, so a file that has other names elsewhere can't
// be changed by way of them or change them. One that is changed, however, while
// the build runs, between being compared and the exchange, is in the new output as
// it was changed, as if that had been done afterwards: its digest tells.

// standing is a tune, or a bundle, whose files all are what the old output has.
type standing struct {
	folder string
	files  []string
}

// stand notes one.
func (f *Folder) stand(folder string, files []string) {
	if n := len(f.same); n > 0 && slices.Equal(f.same[n-1].files, files) {
		files = f.same[n-1].files // most tunes have files of the same names
	}
	f.same = append(f.same, standing{folder, files})
}

// asBefore says of each file of a tune whether the old output has it.
func (f *Folder) asBefore(name string, s *scratch) (all bool) {
	s.same = s.same[:0]
	if f.ours == nil || !f.ours.folders[name] {
		return false
	}
	all = true
	for _, file := range s.list {
		yes := s.equal(f.was, filepath.FromSlash(name+"/"+file.Path), file.Data)
		s.same = append(s.same, yes)
		all = all && yes
	}
	return all
}

// equal says whether a plain file holds exactly these bytes.
func (s *scratch) equal(in place, path string, data []byte) bool {
	file, err := in.open(path)
	if err != nil {
		return false
	}
	defer file.Close()
	// One byte more than there should be.
	s.read = slices.Grow(s.read[:0], len(data)+1)[:len(data)+1]
	n, err := io.ReadFull(file, s.read)
	return errors.Is(err, io.ErrUnexpectedEOF) && bytes.Equal(s.read[:n], data)
}

// unchanged says whether the old output is, as a whole, what the new one would be.
// The new index is there, and everything else that is new.
func (f *Folder) unchanged() bool {
	if f.ours == nil || f.fresh.Load() > 1 { // the index is new
		return false
	}
	if st, err := os.Stat(f.dir); err != nil || !os.SameFile(st, f.wasDir) {
		return false // it was moved away
	}
	a, err := f.in.open(indexFile)
	if err != nil {
		return false
	}
	defer a.Close()
	b, err := f.was.open(indexFile)
	if err != nil {
		return false
	}
	defer b.Close()
	x, y := make([]byte, 1<<16), make([]byte, 1<<16)
	for {
		n, err := io.ReadFull(a, x)
		m, err2 := io.ReadFull(b, y)
		switch {
		case !bytes.Equal(x[:n], y[:m]):
			return false
		case err != nil || err2 != nil:
			return n < len(x) && m < len(y)
		}
	}
}

// linkAll puts into the new output what stands as it was.
func (f *Folder) linkAll(stop <-chan struct{}) error {
	workers := 1
	if len(f.same) > 100 {
		workers = 4 // they wait for the disk more than they compute
	}
	var next atomic.Int64
	var wg sync.WaitGroup
	errs := make([]error, workers)
	for k := range workers {
		wg.Go(func() {
			for errs[k] == nil {
				i := int(next.Add(1)) - 1
				if i >= len(f.same) {
					return
				}
				if stopped(stop) {
					errs[k] = ErrStopped
					return
				}
				errs[k] = f.bring(f.same[i])
			}
		})
	}
	wg.Wait()
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// bring puts the files of one folder of the old output into the new one.
func (f *Folder) bring(s standing) error {
	if err := f.mkdir(s.folder); err != nil {
		return err
	}
	if err := f.mkdirs(s.folder, s.files); err != nil {
		return err
	}
	for _, file := range s.files {
		path := filepath.FromSlash(s.folder + "/" + file)
		if f.linked(path) {
			continue
		}
		data, err := os.ReadFile(filepath.Join(f.dir, path))
		if err != nil {
			return cant(filepath.Join(f.shown, path), "read", err)
		}
		if err := f.save(path, data); err != nil {
			return err
		}
	}
	return nil
}

// linked gives a file of the old output its name in the new one too. There are
// disks and owners that don't let it.
func (f *Folder) linked(path string) bool {
	if f.link != nil {
		return f.link(filepath.Join(f.dir, path), filepath.Join(f.tmp, path)) == nil
	}
	return f.in.link(f.was, path) == nil
}
