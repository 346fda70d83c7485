package history

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"runtime"
	"slices"
	"sort"
	"sync"

	"fettle/compiler"
	"fettle/compiler/diff"
	"fettle/compiler/eval"
	"fettle/compiler/git"
	"fettle/lang/diag"
	"fettle/lang/source"
)

// workTree stands for the work tree in the numbering of the commits.
const workTree = -1

const (
	ahead = 4  // how many sources are compiled ahead of the walk
	kept  = 12 // how many are kept
)

// compiled is a source, or why there is none.
type compiled struct {
	w      *compiler.Workspace // nil where the workspace isn't there, or has faults
	faults *diag.List
	names  []string // of the files that were asked for, there or not
	texts  [sha256.Size]byte
	mu     sync.Mutex
	tunes  map[string]*computed
}

// computed is a tune of a source.
type computed struct {
	side  *diff.Side // nil where it can't be computed
	fault *eval.Fault
}

// tune computes a tune, once.
func (c *compiled) tune(name string) *computed {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.tunes == nil {
		c.tunes = map[string]*computed{}
	}
	if c.tunes[name] == nil {
		t := c.w.Plan.Find(name)
		res := c.w.Eval().Tune(eval.Pure(c.w.Program, t), eval.Options{})
		out := &computed{fault: res.Fault}
		if out.fault == nil {
			out.side = diff.OfResult(c.w.Eval(), t, res)
			out.side.Round()
		}
		c.tunes[name] = out
	}
	return c.tunes[name]
}

// loader compiles the sources of commits, a few ahead of who asks for them, and
// keeps the last.
type loader struct {
	q       Question
	list    []git.Commit
	slots   chan struct{} // one for each processor
	mu      sync.Mutex
	folders map[int]folder
	loads   map[string]*load // by the folder's hash
	order   []string         // of loads, the oldest first
	names   []string         // of all files that a source read, sorted
	byTexts map[[sha256.Size]byte]*load
}

// folder is the workspace's folder at a commit.
type folder struct {
	fs.FS
	hash string // "" where the commit doesn't have it
}

// load is a source that is being compiled, or was.
type load struct {
	done chan struct{}
	src  *compiled // once it is done
}

func newLoader(q Question, list []git.Commit) *loader {
	return &loader{q: q, list: list, slots: make(chan struct{}, runtime.GOMAXPROCS(0)), folders: map[int]folder{workTree: {q.WorkTree, "the work tree"}}, loads: map[string]*load{}, byTexts: map[[sha256.Size]byte]*load{}}
}

// get gives the source of a commit, or of the work tree, and begins with the next
// ones.
func (l *loader) get(i int) (*compiled, error) {
	out, err := l.begin(i)
	if err != nil {
		return nil, err
	}
	l.mu.Lock()
	first := l.names == nil
	l.mu.Unlock()
	if first {
		<-out.done // it tells which files to look at in the others
	}
	for k := i + 1; k < len(l.list) && k <= i+ahead; k++ {
		if _, err := l.begin(k); err != nil {
			break // told when it is asked for
		}
	}
	<-out.done
	return out.src, nil
}

// folder gives the files of a commit.
func (l *loader) folder(i int) (folder, error) {
	if f, ok := l.folders[i]; ok {
		return f, nil
	}
	tree, err := l.q.Repo.Files(l.list[i])
	if err != nil {
		return folder{}, err
	}
	l.folders[i] = folder{tree, tree.Hash()}
	return l.folders[i], nil
}

// hash tells the folder of a commit, or the work tree's, from every other.
func (l *loader) hash(i int) (string, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	f, err := l.folder(i)
	return f.hash, err
}

// same says whether a commit's files are those that the source of another was
// compiled from.
func (l *loader) same(i int, src *compiled) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	f, err := l.folder(i)
	return err == nil && digest(f, src.names) == src.texts
}

// begin begins to compile the source of a commit.
func (l *loader) begin(i int) (*load, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	f, err := l.folder(i)
	if err != nil {
		return nil, err
	}
	if at := l.loads[f.hash]; at != nil {
		return at, nil
	}
	out := &load{done: make(chan struct{})}
	var twin *load
	if l.names != nil {
		texts := digest(f, l.names)
		if twin = l.byTexts[texts]; twin == nil {
			l.byTexts[texts] = out
		}
	}
	l.loads[f.hash] = out
	l.order = append(l.order, f.hash)
	if len(l.order) > kept {
		l.forget(l.loads[l.order[0]])
		delete(l.loads, l.order[0])
		l.order = l.order[1:]
	}
	go l.compile(out, twin, f)
	return out, nil
}

// forget drops a source from those that are found by their texts.
func (l *loader) forget(old *load) {
	for key, x := range l.byTexts {
		if x == old {
			delete(l.byTexts, key)
		}
	}
}

// compile compiles a source. A twin had the same texts, of those files that were
// known then; if it read no others, it is the same source.
func (l *loader) compile(out, twin *load, fsys fs.FS) {
	defer close(out.done)
	if twin != nil {
		if <-twin.done; digest(fsys, twin.src.names) == twin.src.texts {
			out.src = twin.src
			return
		}
	}
	l.slots <- struct{}{}
	defer func() { <-l.slots }()
	seen := &recorder{fsys: fsys, names: map[string]bool{}}
	out.src = &compiled{}
	if _, err := fs.Stat(seen, source.MainName); !errors.Is(err, fs.ErrNotExist) {
		w := compiler.Open(seen)
		if w.Diags.HasErrors() {
			out.src.faults = w.Diags
		} else {
			out.src.w = w
		}
	}
	out.src.names = seen.list()
	out.src.texts = digest(fsys, out.src.names)
	l.mu.Lock()
	defer l.mu.Unlock()
	if more := append(slices.Clone(l.names), out.src.names...); !subset(out.src.names, l.names) {
		sort.Strings(more)
		l.names = slices.Compact(more)
		l.byTexts = map[[sha256.Size]byte]*load{digest(fsys, l.names): out}
	}
}

// subset says whether all of some names are in a sorted list.
func subset(names, list []string) bool {
	for _, name := range names {
		if _, ok := slices.BinarySearch(list, name); !ok {
			return false
		}
	}
	return true
}

// recorder notes which files are asked for, whether they are there or not: a
// folder in which all of these are the same compiles to the same.
type recorder struct {
	fsys  fs.FS
	names map[string]bool
}

// Open implements fs.FS.
func (r *recorder) Open(name string) (fs.File, error) {
	r.names[name] = true
	return r.fsys.Open(name)
}

// Stat implements fs.StatFS: what is no plain file must not be opened. What is
// there is noted if it is opened then.
func (r *recorder) Stat(name string) (fs.FileInfo, error) {
	st, err := fs.Stat(r.fsys, name)
	if err != nil {
		r.names[name] = true
	}
	return st, err
}

func (r *recorder) list() []string {
	var out []string
	for name := range r.names {
		out = append(out, name)
	}
	sort.Strings(out)
	return out
}

// digest is one of the texts of some files; what can't be read is one text.
func digest(fsys fs.FS, names []string) (out [sha256.Size]byte) {
	h := sha256.New()
	for _, name := range names {
		text := [sha256.Size]byte{}
		if f, err := source.ReadText(fsys, name); err == nil {
			text = sha256.Sum256([]byte(f.Text))
		}
		fmt.Fprintf(h, "%q %x\n", name, text)
	}
	return [sha256.Size]byte(h.Sum(nil))
}
