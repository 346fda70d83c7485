package emit

import (
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
)

// Folder writes an output folder anew. Nothing of the old output changes before
// Close has the whole new one on the disk. Make may be called by several
// goroutines at once; nothing else may.
type Folder struct {
	shown    string // the folder as the caller names it
	dir      string // where it really is
	tmp      string // the new folder, beside it
	made     string // the topmost of its parents that had to be made, or ""
	lock     *lock
	old      *Index // what a build with keepOthers keeps from, or nil
	keep     bool
	ours     *ours // what may stand in the old output; nil if there was none
	same     []standing
	fresh    atomic.Int64 // files that were written
	first    *Input       // what all tunes share: the program and its source
	fixed    atomic.Pointer[fixed]
	entries  *entries
	bundles  []BundleEntry
	sum      Summary
	making   sync.RWMutex // held for reading while a tune is made
	finished bool
	places   []place // to be closed
	stays    bool    // the old output is what the new one would be
	err      error   // the first error, after which nothing works
	scratch  sync.Pool
	parents  sync.Map                             // folders of the new output that tunes' folders are in
	in, was  place                                // the new folder and the old one, while they are open
	wasDir   fs.FileInfo                          // of the old one
	write    func(path string, data []byte) error // for tests: instead of files and links as they are
	link     func(from, to string) error
}

// Summary says what a build did.
type Summary struct {
	Dir          string
	Written      []string
	Failed       []string
	Kept         []string
	Removed      []string  // of Failed: those whose tables of an earlier build are gone now
	FailedBefore []string  // not built now, and still listed as failed
	Dropped      []Dropped // tunes of the old output that couldn't be kept
	Bundles      []string  // written
	KeptBundles  []string
	Files        int // written, not kept
	Bytes        int64
	Left         string // a folder that couldn't be removed, or ""
}

// Dropped is a tune of the old output that the new one doesn't have.
type Dropped struct {
	Name, Why string
}

// NewFolder begins a new output in place of the folder dir, which may not hold
// the workspace nor, at any depth, anything that no build wrote. With keepOthers
// the tunes of the old output that aren't added stay, as long as the source has
// them. Close or Abort must follow.
func NewFolder(dir, workspace string, keepOthers bool) (*Folder, error) {
	f := &Folder{shown: filepath.Clean(dir), keep: keepOthers}
	f.scratch.New = func() any { return new(scratch) }
	f.sum.Dir = f.shown
	if dir == "" {
		return nil, &Error{Path: "the output", Problem: "has no name"}
	}
	if err := f.locate(dir, workspace); err != nil {
		return nil, err
	}
	if err := f.begin(); err != nil {
		f.Abort()
		return nil, err
	}
	return f, nil
}

// Add writes a tune, or notes why it fails. An error is final: the new folder is
// gone, and the old output stands.
func (f *Folder) Add(in Input) error {
	if f.finished {
		return f.ended()
	}
	return f.Take(f.Make(in))
}

// Part is a tune whose files are in the new folder, or that fails.
type Part struct {
	first Input
	entry indexed
	same  []string // its files, if all stand in the old output
	files int
	bytes int64
	err   error
}

// Err is why a part can't be taken; nil if it can.
func (p *Part) Err() error { return p.err }

// Make writes a tune's files, or notes why it fails. The tune isn't of the output
// before Take has the part.
func (f *Folder) Make(in Input) *Part {
	f.making.RLock()
	defer f.making.RUnlock()
	p := &Part{first: Input{Program: in.Program, Source: in.Source}}
	if f.finished {
		p.err = ErrStopped // Take says why
		return p
	}
	if in.fixed = f.fixed.Load(); in.fixed == nil || in.fixed.program != in.Program {
		f.fixed.Store(in.fix())
	}
	if in.Fails() {
		e := failed(&in)
		p.entry, p.err = e.indexed()
		return p
	}
	s := f.scratch.Get().(*scratch)
	defer f.scratch.Put(s)
	if p.err = s.files(&in); p.err != nil {
		return p
	}
	if f.asBefore(in.Tune.Name, s) {
		p.same = paths(s.list)
	} else if p.err = f.tune(in.Tune.Name, s); p.err != nil {
		return p
	}
	p.files = len(s.list)
	for _, file := range s.list {
		p.bytes += int64(len(file.Data))
	}
	e := s.written(&in)
	p.entry, p.err = e.indexed()
	return p
}

// Take adds a tune that Make made; the index has them in the order of these
// calls. An error is final, as of Add.
func (f *Folder) Take(p *Part) error {
	if f.finished {
		return f.ended()
	}
	if f.first == nil {
		f.first = &p.first
	}
	err := p.err
	if err == nil {
		err = f.enter(p.entry)
	}
	if err != nil {
		return f.fail(err)
	}
	f.sum.Files += p.files
	f.sum.Bytes += p.bytes
	if p.entry.status == Failed {
		f.sum.Failed = append(f.sum.Failed, p.entry.name)
		f.losing(p.entry.name)
	} else {
		f.sum.Written = append(f.sum.Written, p.entry.name)
	}
	if p.same != nil {
		f.stand(p.entry.name, p.same)
	}
	return nil
}

// tune writes the folder of one tune, but for the files that stand already.
func (f *Folder) tune(name string, s *scratch) error {
	if err := f.mkdir(name); err != nil {
		return err
	}
	if err := f.mkdirs(name, paths(s.list)); err != nil {
		return err
	}
	for i, file := range s.list {
		path := filepath.FromSlash(name + "/" + file.Path)
		if len(s.same) > 0 && s.same[i] && f.linked(path) {
			continue
		}
		if err := f.save(path, file.Data); err != nil {
			return err
		}
	}
	return nil
}

// mkdir makes the folder of one tune.
func (f *Folder) mkdir(name string) error {
	path := filepath.FromSlash(name)
	shown := filepath.Join(f.shown, path)
	if !filepath.IsLocal(path) || path == "." {
		return &Error{Path: shown, Problem: "can't be made: this system has no folder of that name"}
	}
	if parent := filepath.Dir(path); parent != "." {
		if _, made := f.parents.Load(parent); !made {
			if err := os.MkdirAll(filepath.Join(f.tmp, parent), 0o777); err != nil {
				return cant(filepath.Dir(shown), "made", err)
			}
			f.parents.Store(parent, true)
		}
	}
	if err := f.in.mkdir(path); err != nil {
		return cant(shown, "made", err)
	}
	return nil
}

// mkdirs makes the folders within a tune's that its files are in.
func (f *Folder) mkdirs(name string, files []string) error {
	var made []string
	for _, file := range files {
		if folder, _, deep := strings.Cut(file, "/"); deep && !slices.Contains(made, folder) {
			made = append(made, folder)
			if err := f.mkdir(name + "/" + folder); err != nil {
				return err
			}
		}
	}
	return nil
}

// put writes one file of the new folder, and counts it.
func (f *Folder) put(path string, data []byte) error {
	if err := f.save(path, data); err != nil {
		return err
	}
	f.sum.Files++
	f.sum.Bytes += int64(len(data))
	return nil
}

// save writes one file of the new folder.
func (f *Folder) save(path string, data []byte) error {
	err := error(nil)
	if f.write != nil {
		err = f.write(filepath.Join(f.tmp, path), data)
	} else {
		err = f.in.create(path, data)
	}
	if err != nil {
		return cant(filepath.Join(f.shown, path), "written", err)
	}
	f.fresh.Add(1)
	return nil
}

// paths lists the paths of files.
func paths(list []File) []string {
	out := make([]string, len(list))
	for i, f := range list {
		out[i] = f.Path
	}
	return out
}

// Close completes the new folder and puts it in the place of the old one. Until
// it has, a receive from stop ends the build with ErrStopped. After an error the
// old output stands as it was.
func (f *Folder) Close(stop <-chan struct{}) (Summary, error) {
	if f.finished {
		return f.sum, f.ended()
	}
	if f.first == nil {
		return f.sum, f.fail(&Error{Path: f.shown, Problem: "is left as it was: there is no tune to write"})
	}
	for _, step := range []func(<-chan struct{}) error{f.keepOthers, f.keepBundles, f.index, f.linkAll, f.settle, f.swap} {
		if stopped(stop) {
			return f.sum, f.fail(ErrStopped)
		}
		if f.stays {
			break
		}
		if err := step(stop); err != nil {
			return f.sum, f.fail(err)
		}
	}
	f.made = ""
	f.Abort() // what is in the place of the new folder now is the old one
	f.err = nil
	return f.sum, nil
}

func stopped(stop <-chan struct{}) bool {
	select {
	case <-stop:
		return true
	default:
		return false
	}
}

// settle sees that the new folder is on the disk.
func (f *Folder) settle(<-chan struct{}) error {
	if st, err := os.Stat(f.dir); err == nil {
		if err := os.Chmod(f.tmp, st.Mode().Perm()); err != nil {
			return cant(f.shown, "written", err)
		}
	}
	if err := syncTree(f.tmp, f.sum.Files); err != nil {
		return cant(f.shown, "written", err)
	}
	return nil
}

// swap puts the new folder in the place of the old one.
func (f *Folder) swap(<-chan struct{}) error {
	there, err := f.oursOnly()
	if err != nil { // it came there since the beginning
		return err
	}
	if there {
		err = exchange(f.tmp, f.dir, f.sibling(aside))
	} else {
		err = os.Rename(f.tmp, f.dir)
	}
	if err != nil {
		return cant(f.shown, "replaced", err)
	}
	syncFolder(filepath.Dir(f.dir))
	return nil
}

// Abort ends the build and leaves the old output as it was. After Close, or a
// second time, it does nothing.
func (f *Folder) Abort() {
	f.making.Lock() // whoever is writing a tune has done so before it is removed
	defer f.making.Unlock()
	if f.finished {
		return
	}
	f.finished = true
	f.entries.close()
	f.closePlaces()
	if f.tmp != "" {
		if err := os.RemoveAll(f.tmp); err != nil {
			f.sum.Left = f.tmp
		}
	}
	f.lock.release()
	f.unmake()
	f.err = ErrStopped
}

// closePlaces lets go of the folders.
func (f *Folder) closePlaces() {
	for _, p := range f.places {
		p.close()
	}
	f.places = nil
}

// fail aborts for an error and gives it back.
func (f *Folder) fail(err error) error {
	f.Abort()
	f.err = err
	return err
}

// ended is what a call gets that comes too late.
func (f *Folder) ended() error {
	if f.err != nil {
		return f.err
	}
	return &Error{Path: f.shown, Problem: "is closed already"}
}
