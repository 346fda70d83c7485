package git

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
)

// ErrNoRepository says that a folder isn't in the work tree of a repository.
var ErrNoRepository = errors.New("this folder isn't in a git repository: `git init` begins one, and `git commit` gives a revision to compare with")

// Repo is the repository that a workspace's folder lies in, as seen from there.
// It may be used by several goroutines.
type Repo struct {
	dir     string // the workspace's folder
	prefix  string // the folder's place in the repository, "" or "a/b"
	top     string // the repository's work tree
	shallow map[string]bool
	objects *batch
}

// Open finds the repository that a folder lies in. The error is ErrNoGit or
// ErrNoRepository where those are the reason.
func Open(dir string) (*Repo, error) {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return nil, err
	}
	// The prefix comes last: a folder's name may have a line end in it.
	out, err := run(dir, nil, "rev-parse", "--is-inside-work-tree", "--is-shallow-repository", "--show-cdup", "--show-prefix")
	var f *failure
	switch {
	case errors.As(err, &f) && strings.Contains(f.text, "dubious ownership"):
		return nil, fmt.Errorf("git doesn't trust the repository of %s, since it belongs to another user: if you do, `git config --global --add safe.directory` with its folder", dir)
	case errors.As(err, &f) && strings.Contains(f.text, "not a git repository"):
		return nil, ErrNoRepository
	case err != nil:
		return nil, err
	}
	parts := strings.SplitN(out, "\n", 4)
	if len(parts) != 4 || parts[0] != "true" {
		return nil, ErrNoRepository
	}
	r := &Repo{
		dir:     dir,
		prefix:  strings.TrimSuffix(strings.TrimSuffix(parts[3], "\n"), "/"),
		top:     filepath.Join(dir, filepath.FromSlash(parts[2])),
		objects: &batch{dir: dir},
	}
	if parts[1] == "true" {
		if r.shallow, err = boundary(dir); err != nil {
			return nil, err
		}
	}
	return r, nil
}

// boundary lists the commits whose parents a shallow clone lacks.
func boundary(dir string) (map[string]bool, error) {
	out, err := run(dir, nil, "rev-parse", "--git-path", "shallow")
	if err != nil {
		return nil, err
	}
	name := strings.TrimSuffix(out, "\n")
	if !filepath.IsAbs(name) {
		name = filepath.Join(dir, name)
	}
	b, err := os.ReadFile(name)
	if err != nil {
		return nil, fmt.Errorf("the list of what this shallow clone lacks can't be read: %w", err)
	}
	set := map[string]bool{}
	for _, h := range strings.Fields(string(b)) {
		set[h] = true
	}
	return set, nil
}

// Dir is the workspace's folder, Prefix its place in the repository ("" at its
// top, else "a/b"), Top the repository's work tree.
func (r *Repo) Dir() string    { return r.dir }
func (r *Repo) Prefix() string { return r.prefix }
func (r *Repo) Top() string    { return r.top }

// Shallow says whether the clone lacks a part of the history.
func (r *Repo) Shallow() bool { return len(r.shallow) > 0 }

// Close ends the process that reads objects; another question starts another.
func (r *Repo) Close() error { return r.objects.close() }

// git runs git in the workspace's folder.
func (r *Repo) git(args ...string) (string, error) { return run(r.dir, nil, args...) }
