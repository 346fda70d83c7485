// Package meaning looks whether two edits that merge without a conflict in the
// text go together: it compiles the workspace as it will be after the merge.
//
// How it goes. Git merges file by file, and while the driver has one, the work
// tree still holds ours. So the commits that are being merged are found
// (compiler/git), and the merged workspace is made up in memory: each file from
// the side that changed it, or merged as the driver merges it where both did
// (blend.go). It is compiled, and every tune is computed. Where something fails,
// both sides are compiled too: a limit, a check or a tune that fails in the
// merged workspace and in neither side is a conflict of meaning, and so are
// errors in a source that both sides don't have (judge.go). Where the commits
// can't be told, the other files are those of the work tree.
//
// In: a file's three versions, its place, its merged text. Out: a verdict in
// words. Imported by cmd.
package meaning

import (
	"errors"
	"io/fs"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"fettle/compiler"
	"fettle/compiler/git"
	"fettle/compiler/merge"
	"fettle/compiler/resolve"
	"fettle/lang/diag"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// The three versions, as indices.
const (
	base = iota
	ours
	theirs
)

// File is the file that is merged.
type File struct {
	Dir      string    // the folder that a merge driver runs in
	Path     string    // the file's name in the repository; "" where it isn't told
	On       string    // where ours lies on the disk
	Versions [3]string // base, ours, theirs
	Environ  []string
}

// Scene is where a merge happens: the workspace of the file, on every side.
type Scene struct {
	file   File
	rel    string // the file's name in the workspace
	folder string // the workspace's, for messages
	sides  [3]fs.FS
	old    [3]map[string]string // new names of files, to those of the base
	alone  bool                 // only this file's versions are known
	opened [3]*compiler.Workspace
	why    string // why nothing can be compiled
	close  []func()
}

// Find looks around the file that is merged.
func Find(f File) *Scene {
	s := &Scene{file: f}
	if f.Path == "" {
		s.onDisk(f.On)
		return s
	}
	if !fs.ValidPath(f.Path) {
		s.why = "its path leads out of the repository"
		return s
	}
	repo, err := git.Open(f.Dir)
	if err == nil && repo.Prefix() != "" { // a driver runs at the top
		top := repo.Top()
		repo.Close()
		repo, err = git.Open(top)
	}
	if err != nil {
		s.onDisk(filepath.Join(f.Dir, filepath.FromSlash(f.Path)))
		return s
	}
	s.close = append(s.close, func() { repo.Close() })
	m, err := repo.Merging(f.Environ, f.Path, []byte(f.Versions[base]), []byte(f.Versions[ours]), []byte(f.Versions[theirs]))
	switch {
	case err == nil:
		s.inCommits(repo, m)
	case errors.Is(err, git.ErrNotOurs):
		s.why = "it isn't the file of the current commit: git merges common ancestors first"
	default:
		s.onDisk(filepath.Join(repo.Top(), filepath.FromSlash(f.Path)))
	}
	return s
}

// Close ends what Find began.
func (s *Scene) Close() {
	for _, c := range s.close {
		c()
	}
}

const noWorkspace = "it lies in no workspace"

// inCommits takes the sides from the commits that are merged.
func (s *Scene) inCommits(repo *git.Repo, m *git.Merging) {
	commits := [3]git.Commit{m.Base, m.Ours, m.Theirs}
	var trees [3]fs.FS
	for side, c := range commits {
		t, err := repo.Files(c)
		if err != nil {
			s.why = err.Error()
			return
		}
		trees[side] = t
	}
	folder, ok := workspaceOf(s.file.Path, trees[ours], trees[theirs])
	if !ok {
		s.why = noWorkspace
		return
	}
	s.folder, s.rel = folder, inside(folder, s.file.Path)
	for side, t := range trees {
		sub, err := fs.Sub(t, folder)
		if err != nil {
			s.why = err.Error()
			return
		}
		s.sides[side] = sub
		s.old[side] = map[string]string{}
		if side == base {
			continue
		}
		renames, err := repo.Renames(commits[base], commits[side])
		if err != nil {
			s.why = err.Error()
			return
		}
		for name, old := range renames {
			if n, o := inside(folder, name), inside(folder, old); n != "" && o != "" {
				s.old[side][n] = o
			}
		}
	}
}

// workspaceOf finds the folder above a file that is a workspace on either side.
func workspaceOf(name string, trees ...fs.FS) (string, bool) {
	for dir := path.Dir(name); ; dir = path.Dir(dir) {
		for _, t := range trees {
			if st, err := fs.Stat(t, path.Join(dir, source.MainName)); err == nil && st.Mode().IsRegular() {
				return dir, true
			}
		}
		if dir == "." || dir == "/" {
			return "", false
		}
	}
}

// inside is a file's name in a folder, "" if it isn't in it.
func inside(folder, name string) string {
	if folder == "." {
		return name
	}
	rest, ok := strings.CutPrefix(name, folder+"/")
	if !ok {
		return ""
	}
	return rest
}

// onDisk takes the other files from the work tree.
func (s *Scene) onDisk(name string) {
	name, err := filepath.Abs(name)
	if err != nil {
		s.why = err.Error()
		return
	}
	dir, err := source.FindWorkspace(filepath.Dir(name))
	if err != nil {
		s.why = noWorkspace
		return
	}
	rel, err := filepath.Rel(dir, name)
	if err != nil {
		s.why = noWorkspace
		return
	}
	fsys, closer, err := source.OpenFolder(dir)
	if err != nil {
		s.why = err.Error()
		return
	}
	s.close = append(s.close, func() { closer.Close() })
	s.folder, s.rel, s.alone = dir, filepath.ToSlash(rel), true
	for side := range s.sides {
		s.sides[side] = over{fsys, source.Memory{s.rel: s.file.Versions[side]}}
	}
}

// over is a folder with some files of it in other versions.
type over struct {
	fs.FS
	known source.Memory
}

func (o over) Open(name string) (fs.File, error) {
	if _, ok := o.known[name]; ok {
		return o.known.Open(name)
	}
	return o.FS.Open(name)
}

// Units gives the units of the axes that ours declares.
func (s *Scene) Units() map[string]string {
	units := map[string]string{}
	if s.why != "" {
		return units
	}
	for _, d := range resolve.Load(s.sides[ours], &diag.List{}).Decls {
		if a, ok := d.(*syntax.Axis); ok && a.Unit != nil {
			units[a.Name.Text] = a.Unit.Text
		}
	}
	return units
}

// edits says what a side changed, file by file.
func (s *Scene) edits(side int, names []string, units map[string]string) []string {
	var out []string
	if s.alone {
		names = []string{s.rel}
	}
	names = slices.Clone(names)
	slices.Sort(names)
	for _, name := range slices.Compact(names) {
		old := name
		if o, ok := s.old[side][name]; ok {
			old = o
		}
		before, _ := textOf(s.sides[base], old)
		after, there := textOf(s.sides[side], name)
		if !there {
			continue
		}
		for _, e := range merge.Edits(before, after, merge.Options{Path: name, Units: units}) {
			if e != path.Base(name) && !strings.HasPrefix(e, path.Base(name)+" ") {
				e += " (" + name + ")"
			}
			out = append(out, e)
		}
	}
	return out
}

// textOf reads a file of a side.
func textOf(fsys fs.FS, name string) (string, bool) {
	b, err := fs.ReadFile(fsys, name)
	return string(b), err == nil
}
