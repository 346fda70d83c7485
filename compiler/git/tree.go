package git

import (
	"errors"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"
	"sync"
)

// Tree is the workspace's folder as it was at a commit: an fs.FS. A folder is
// read when it is first looked into, a file when its size or its text is first
// asked for. A symbolic link is followed if it stays inside the folder and
// refused if it leads out, as in a folder on the disk (see lang/source); what
// lies in a submodule is refused, since it is in another repository.
//
// It may be used by several goroutines.
type Tree struct {
	objects *batch
	hash    string // of the folder; "" where the commit has none
	mu      sync.Mutex
	lists   map[string][]entry // the folders that were looked into, by hash
}

// Files gives the files of the workspace's folder at a commit. A folder that
// isn't there then is an empty one.
func (r *Repo) Files(c Commit) (*Tree, error) {
	if !isHash(c.Hash) {
		return nil, errors.New("no commit is named")
	}
	o, err := r.objects.ask(c.Hash + "^{tree}")
	if err != nil {
		return nil, fmt.Errorf("the files of commit %s can't be read: %w", c.Hash, err)
	}
	t := &Tree{objects: r.objects, hash: o.hash, lists: map[string][]entry{}}
	for _, name := range strings.Split(r.prefix, "/") {
		if name == "" || t.hash == "" {
			break
		}
		list, err := readFolder(t.objects, t.hash)
		if err != nil {
			return nil, fmt.Errorf("the files of commit %s can't be read: %w", c.Hash, err)
		}
		t.hash = ""
		if e, ok := find(list, name); ok && e.kind == isFolder {
			t.hash = e.hash
		}
	}
	return t, nil
}

// Hash is that of the whole folder, "" where the commit has none: two with one
// hash have the same files.
func (t *Tree) Hash() string { return t.hash }

// Close is there for the form's sake: the process that reads belongs to the
// Repo.
func (t *Tree) Close() error { return nil }

type kind int

const (
	isFile kind = iota
	isProgram
	isFolder
	isLink
	isModule // a submodule
)

// entry is a name in a folder.
type entry struct {
	name string
	kind kind
	hash string
}

// list gives what is in a folder, sorted by name.
func (t *Tree) list(hash string) ([]entry, error) {
	if hash == "" {
		return nil, nil
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	if list, ok := t.lists[hash]; ok {
		return list, nil
	}
	list, err := readFolder(t.objects, hash)
	if err == nil {
		t.lists[hash] = list
	}
	return list, err
}

func readFolder(objects *batch, hash string) ([]entry, error) {
	o, err := objects.ask(hash)
	if err != nil {
		return nil, err
	}
	if o.kind != "tree" || o.data == nil {
		return nil, fmt.Errorf("git's object %s is no folder that can be read", hash)
	}
	// An entry is its mode, a space, its name, a zero byte and the hash's bytes.
	var out []entry
	rest, n := string(o.data), len(hash)/2
	for rest != "" {
		head, tail, ok := strings.Cut(rest, "\x00")
		mode, name, ok2 := strings.Cut(head, " ")
		if !ok || !ok2 || len(tail) < n {
			return nil, fmt.Errorf("git's object %s is no folder that can be read", hash)
		}
		e := entry{name: name, hash: fmt.Sprintf("%x", tail[:n])}
		switch mode {
		case "40000":
			e.kind = isFolder
		case "120000":
			e.kind = isLink
		case "160000":
			e.kind = isModule
		case "100755":
			e.kind = isProgram
		}
		if name != "" && name != "." && name != ".." && !strings.Contains(name, "/") {
			out = append(out, e)
		}
		rest = tail[n:]
	}
	slices.SortFunc(out, func(a, b entry) int { return strings.Compare(a.name, b.name) })
	return out, nil
}

func find(list []entry, name string) (entry, bool) {
	i, ok := slices.BinarySearchFunc(list, name, func(e entry, n string) int { return strings.Compare(e.name, n) })
	if !ok {
		return entry{}, false
	}
	return list[i], true
}

// Why a name can't be opened.
var (
	errLeadsOut  = errors.New("a symbolic link leads out of the workspace")
	errCircle    = errors.New("too many symbolic links, one behind the other")
	errNotFolder = errors.New("not a folder")
	errModule    = errors.New("it lies in a submodule, which is another repository")
)

// at finds what a name leads to, links followed.
func (t *Tree) at(op, name string) (entry, error) {
	fail := func(err error) (entry, error) { return entry{}, &fs.PathError{Op: op, Path: name, Err: err} }
	if !fs.ValidPath(name) {
		return fail(fs.ErrInvalid)
	}
	const mostLinks = 40
	links, parts := 0, strings.Split(name, "/")
	way := []entry{{kind: isFolder, hash: t.hash}} // from the top to where we are
	for len(parts) > 0 {
		part, here := parts[0], way[len(way)-1]
		parts = parts[1:]
		switch {
		case here.kind == isModule:
			return fail(errModule)
		case here.kind != isFolder:
			return fail(errNotFolder)
		case part == "" || part == ".":
			continue
		case part == "..": // of a link alone
			if len(way) == 1 {
				return fail(errLeadsOut)
			}
			way = way[:len(way)-1]
			continue
		}
		list, err := t.list(here.hash)
		if err != nil {
			return fail(err)
		}
		e, ok := find(list, part)
		if !ok {
			return fail(fs.ErrNotExist)
		}
		if e.kind != isLink {
			way = append(way, e)
			continue
		}
		o, err := t.objects.ask(e.hash)
		switch links++; {
		case err != nil:
			return fail(err)
		case links > mostLinks:
			return fail(errCircle)
		case path.IsAbs(string(o.data)):
			return fail(errLeadsOut)
		}
		parts = append(strings.Split(string(o.data), "/"), parts...)
	}
	e := way[len(way)-1]
	e.name = path.Base(name)
	return e, nil
}
