// Package sides finds what a user names: a tune, a pattern, a git revision, a
// revision's tune, a built folder, a workspace's folder or a CSV file becomes a
// side of a review.
//
// How it goes. A name is taken by its form where that tells (a path, REV:TUNE);
// else it is looked for among the tunes of the work tree, the revisions and the
// files, and refused if it is more than one of them. A revision's sources are
// read from git without touching the work tree, and compiled like any other.
// With one name the other side is the work tree; with none, HEAD and the work
// tree are compared. A single tune or pattern is compared with itself at HEAD. A
// folder that holds a source is that workspace as it stands, not tables. One table
// takes the one tune of the other side that has a map of its name. While sources
// are compiled, git is started and asked what it will be asked anyway.
//
// In: names, the folder of a workspace. Out: two review.Sides, or an error that
// says which side is at fault. Imported by cmd.
package sides

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"

	"fettle/compiler"
	"fettle/compiler/diff"
	"fettle/compiler/git"
	"fettle/compiler/review"
	"fettle/lang/diag"
	"fettle/lang/source"
)

// Finder finds sides. It keeps what it has opened, so that two names for one
// thing are one workspace.
type Finder struct {
	Dir     string // the workspace's folder; "" where there is none
	Version string // of the compiler
	git     sync.Once
	repo    *git.Repo
	repoErr error
	opened  map[string]*Source
	asked   sync.WaitGroup // what is asked of git meanwhile
}

// Source is an opened workspace: the work tree, or a revision.
type Source struct {
	*compiler.Workspace
	Origin review.Origin
	Commit git.Commit     // of a revision
	stands sync.WaitGroup // where a work tree stands is being asked
}

// SourceError says that a side's source doesn't compile.
type SourceError struct {
	Title string // of the side
	Diags *diag.List
}

func (e *SourceError) Error() string { return e.Title + " doesn't compile" }

// Wrong is a name that can't be taken.
type Wrong struct{ text string }

func (e *Wrong) Error() string { return e.text }

func wrong(format string, args ...any) error { return &Wrong{fmt.Sprintf(format, args...)} }

// Close ends what git runs.
func (f *Finder) Close() {
	f.asked.Wait()
	if f.repo != nil {
		f.repo.Close()
	}
}

// Repo is the repository that the workspace lies in.
func (f *Finder) Repo() (*git.Repo, error) {
	f.git.Do(func() {
		if f.Dir == "" {
			f.repoErr = wrong("there is no workspace here, so there are no revisions of it")
		} else {
			f.repo, f.repoErr = git.Open(f.Dir)
		}
	})
	return f.repo, f.repoErr
}

// ahead begins to find out whether a name is a revision, which starts git.
func (f *Finder) ahead(name string) {
	if f.Dir == "" || byForm(name) {
		return
	}
	f.meanwhile(func() { f.isRevision(name) })
}

func (f *Finder) meanwhile(ask func()) {
	f.asked.Add(1)
	go func() {
		defer f.asked.Done()
		ask()
	}()
}

const treeTitle = "the work tree"

// WorkTree opens the workspace as it stands.
func (f *Finder) WorkTree() (*Source, error) {
	s, err := f.tree()
	if err == nil {
		s.stands.Wait()
	}
	return s, err
}

// tree opens the workspace as it stands; at which commit may not be known yet.
func (f *Finder) tree() (*Source, error) {
	if f.Dir == "" {
		return nil, wrong("there is no workspace here")
	}
	return f.folder("", f.Dir, review.Origin{Title: treeTitle, Kind: review.KindWorkTree, Compiler: f.Version})
}

// otherTree makes a side of another workspace as it stands.
func (f *Finder) otherTree(name string) (*review.Side, error) {
	s, err := f.folder("folder "+name, name, review.Origin{Title: name, Kind: review.KindWorkTree, Operand: name, Folder: name, Compiler: f.Version})
	if err != nil {
		return nil, err
	}
	s.stands.Wait()
	return s.side(""), nil
}

func (f *Finder) folder(key, dir string, origin review.Origin) (*Source, error) {
	if s := f.opened[key]; s != nil {
		return s, nil
	}
	fsys, closer, err := source.OpenFolder(dir)
	if err != nil {
		return nil, wrong("%s can't be opened: %v", dir, err)
	}
	defer closer.Close()
	s, err := f.compile(key, fsys, origin)
	if err != nil {
		return nil, err
	}
	s.stands.Add(1)
	f.meanwhile(func() {
		defer s.stands.Done()
		s.Origin.Revision, s.Origin.Dirty = git.Revision(dir, s.Files())
	})
	return s, nil
}

// isWorkspace says whether a folder holds a source.
func isWorkspace(name string) bool {
	st, err := os.Stat(filepath.Join(name, source.MainName))
	return err == nil && st.Mode().IsRegular()
}

// isHere says whether a folder is that of the workspace.
func (f *Finder) isHere(name string) bool {
	if f.Dir == "" {
		return false
	}
	a, errA := os.Stat(name)
	b, errB := os.Stat(f.Dir)
	return errA == nil && errB == nil && os.SameFile(a, b)
}

// Revision opens the workspace as it was at a revision.
func (f *Finder) Revision(rev string) (*Source, error) {
	repo, err := f.Repo()
	if err != nil {
		return nil, wrong("%v", err)
	}
	c, err := repo.Commit(rev)
	if err != nil {
		return nil, wrong("%v", err)
	}
	return f.AtCommit(rev, c)
}

// AtCommit opens the workspace as it was at a commit, that was asked for as rev.
func (f *Finder) AtCommit(rev string, c git.Commit) (*Source, error) {
	if s := f.opened[c.Hash]; s != nil {
		return s, nil
	}
	repo, err := f.Repo()
	if err != nil {
		return nil, wrong("%v", err)
	}
	tree, err := repo.Files(c)
	if err != nil {
		return nil, wrong("%v", err)
	}
	title := rev + " (" + c.Short + ")"
	if strings.HasPrefix(c.Hash, rev) {
		title = c.Short
	}
	if _, err := fs.Stat(tree, source.MainName); errors.Is(err, fs.ErrNotExist) {
		where := repo.Prefix()
		if where == "" {
			where = "the repository's top folder"
		}
		return nil, wrong("%s holds no %s in %s: the workspace isn't there", title, source.MainName, strings.TrimSuffix(where, "/"))
	}
	s, err := f.compile(c.Hash, tree, review.Origin{Title: title, Kind: review.KindRevision, Operand: rev, Revision: c.Hash, Compiler: f.Version})
	if err != nil {
		return nil, err
	}
	s.Commit = c
	return s, nil
}

func (f *Finder) compile(key string, fsys fs.FS, origin review.Origin) (*Source, error) {
	w := compiler.Open(fsys)
	if w.Diags.HasErrors() {
		return nil, &SourceError{origin.Title, w.Diags}
	}
	s := &Source{Workspace: w, Origin: origin}
	if f.opened == nil {
		f.opened = map[string]*Source{}
	}
	f.opened[key] = s
	return s, nil
}

// side makes a side of a source's tunes.
func (s *Source) side(pattern string) *review.Side {
	side := s.Side(s.Origin, pattern)
	if pattern != "" {
		side.Origin.Title += ": " + pattern
		if s.Origin.Kind == review.KindWorkTree {
			side.Origin.Title = pattern
		}
	}
	return side
}

// path makes a side of a built folder, a workspace's folder or a CSV file.
func (f *Finder) path(name string) (*review.Side, error) {
	st, err := os.Stat(name)
	if err != nil {
		return nil, wrong("there is no file or folder %s", name)
	}
	if st.IsDir() && isWorkspace(name) {
		if f.isHere(name) {
			return f.treeSide("")
		}
		return f.otherTree(name)
	}
	dir, base := name, ""
	if !st.IsDir() {
		dir, base = filepath.Dir(name), filepath.Base(name)
	}
	fsys, closer, err := source.OpenFolder(dir)
	if err != nil {
		return nil, wrong("%v", err)
	}
	defer closer.Close()
	out := &review.Side{Origin: review.Origin{Title: name, Kind: review.KindFolder, Operand: name}}
	if base != "" {
		out.Origin.Kind = review.KindFile
		text, err := source.ReadText(fsys, base)
		if err != nil {
			return nil, wrong("%v", err)
		}
		side, err := diff.FromCSV(name, []byte(text.Text))
		if err != nil {
			return nil, wrong("%v", err)
		}
		out.Tables, out.Single = []*diff.Side{side}, true
		return out, nil
	}
	out.Tables, err = diff.FromFolder(fsys)
	if err != nil {
		return nil, wrong("%s: %v", name, err)
	}
	if len(out.Tables) == 0 {
		return nil, wrong("%s holds no tables", name)
	}
	out.Single = len(out.Tables) == 1 && out.Tables[0].Single()
	b := out.Tables[0].Build
	for _, t := range out.Tables {
		if t.Build != b { // built from several sources, in pieces
			b = diff.Build{}
		}
	}
	out.Origin.Digest, out.Origin.Revision, out.Origin.Dirty, out.Origin.Compiler = b.Digest, b.Revision, b.Dirty, b.Compiler
	return out, nil
}
