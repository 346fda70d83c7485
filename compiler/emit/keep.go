package emit

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"

	"fettle/compiler/plan"
	"fettle/lang/diag"
)

// keepOthers brings over from the old output the tunes that weren't added, and
// puts all entries in the order of the source. A tune that failed before stays
// listed as failed. A tune that the source doesn't have any more is dropped, and
// so is one whose files are gone; one whose files were changed by hand is an
// error, since the build would lose them or vouch for them.
func (f *Folder) keepOthers(stop <-chan struct{}) error {
	if f.old == nil {
		return nil
	}
	added := make(map[string]waiting, len(f.entries.list))
	for _, e := range f.entries.list {
		added[e.name] = e
	}
	old := make(map[string]Entry, len(f.old.Tunes))
	for _, e := range f.old.Tunes {
		old[e.Name] = e
	}
	// The names of the tunes follow from the program that they came from.
	tunes := plan.Run(f.first.Program, &diag.List{})
	list := make([]waiting, 0, len(f.old.Tunes))
	for _, t := range tunes.Tunes {
		here, ok := added[t.Name]
		if !ok {
			e, ok := old[t.Name]
			if !ok {
				continue
			}
			if stopped(stop) {
				return ErrStopped
			}
			if ok, err := f.keepTune(&e); err != nil {
				return err
			} else if !ok {
				continue
			}
			text, err := e.indexed()
			if err == nil {
				err = f.enter(text)
			}
			if err != nil {
				return err
			}
			here = f.entries.list[len(f.entries.list)-1]
		}
		list = append(list, here)
	}
	for _, e := range f.old.Tunes {
		if tunes.Find(e.Name) == nil && e.Status != Failed {
			f.sum.Dropped = append(f.sum.Dropped, Dropped{e.Name, "the source has no such tune any more"})
		}
	}
	f.entries.list = list
	return nil
}

// keepTune brings one tune over. False if there is nothing to bring.
func (f *Folder) keepTune(e *Entry) (bool, error) {
	if e.Status == Failed {
		f.sum.FailedBefore = append(f.sum.FailedBefore, e.Name)
		return true, nil
	}
	dir := filepath.Join(f.dir, filepath.FromSlash(e.Name))
	shown := filepath.Join(f.shown, filepath.FromSlash(e.Name))
	list, err := builtFiles(os.DirFS(dir))
	switch {
	case errors.Is(err, fs.ErrNotExist):
		f.sum.Dropped = append(f.sum.Dropped, Dropped{e.Name, "its files are gone: build it again"})
		return false, nil
	case errors.As(err, new(*fs.PathError)):
		return false, cant(shown, "read", err)
	case err != nil || e.Digest == nil || Digest(list) != *e.Digest:
		return false, &Error{Path: shown, Problem: "was changed after it was built: build it too, or move it elsewhere", Err: err}
	}
	f.stand(e.Name, paths(list))
	e.Status = Kept
	f.sum.Kept = append(f.sum.Kept, e.Name)
	return true, nil
}
