package git

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// History lists the commits, from HEAD back, that touched any of some paths
// (literal names, from the workspace's folder; none: the whole folder), newest
// first, and no more than a number of them (0: all).
//
// A commit stands before its parents, and the commits of one branch stand
// together (git's --topo-order). Where branches were merged and the paths are
// after it as they were on one of them, only that one is followed, since the
// other has no part in what they are now; a merge stands in the list itself only
// if the paths differ from all its parents. Parents are those of the commit,
// whether or not they touched the paths; Before are those of them, or of the commits
// before them, that did.
//
// Where a shallow clone ends, the commit's Cut says so: it seems to have made
// all there is.
func (r *Repo) History(paths []string, most int) ([]Commit, error) {
	head, err := r.Commit("HEAD")
	if err != nil {
		return nil, err
	}
	args := []string{"rev-list", "--topo-order", "--parents"}
	if most > 0 {
		args = append(args, "--max-count="+strconv.Itoa(most))
	}
	if len(paths) == 0 {
		paths = []string{"."}
	}
	out, err := r.git(append(append(args, head.Hash, "--"), paths...)...)
	if err != nil {
		return nil, err
	}
	var list []Commit
	for _, line := range strings.Split(strings.TrimSpace(out), "\n") {
		words := strings.Fields(line)
		if len(words) == 0 {
			continue
		}
		o, err := r.objects.ask(words[0])
		if err != nil {
			return nil, fmt.Errorf("commit %s can't be read: %w", words[0], err)
		}
		c, err := r.commit(o)
		if err != nil {
			return nil, err
		}
		c.Before = words[1:]
		list = append(list, c)
	}
	return list, nil
}

// ErrNoMergeBase says that two commits have no ancestor in common, or none that
// a shallow clone has.
var ErrNoMergeBase = errors.New("the two have no commit in common that they come from")

// MergeBase is the commit that two come from: a best common ancestor.
func (r *Repo) MergeBase(a, b Commit) (Commit, error) {
	if !isHash(a.Hash) || !isHash(b.Hash) {
		return Commit{}, ErrNoMergeBase
	}
	out, err := r.git("merge-base", a.Hash, b.Hash)
	switch hash, _, _ := strings.Cut(out, "\n"); {
	case exitStatus(err) == 1 && r.Shallow():
		return Commit{}, fmt.Errorf("%w: %s", ErrNoMergeBase, unshallow)
	case exitStatus(err) == 1:
		return Commit{}, ErrNoMergeBase
	case err != nil:
		return Commit{}, err
	default:
		return r.Commit(hash)
	}
}

// Tags lists the tags, sorted.
func (r *Repo) Tags() ([]string, error) { return r.refs("refs/tags") }

// Branches lists the branches, sorted, and behind them those of the remotes:
// "main", "origin/main".
func (r *Repo) Branches() ([]string, error) {
	own, err := r.refs("refs/heads")
	if err != nil {
		return nil, err
	}
	remote, err := r.refs("refs/remotes")
	for _, name := range remote {
		if !strings.HasSuffix(name, "/HEAD") { // another name for one of them
			own = append(own, name)
		}
	}
	return own, err
}

// names lists the branches and tags.
func (r *Repo) names() ([]string, error) {
	branches, err := r.Branches()
	if err != nil {
		return nil, err
	}
	tags, err := r.Tags()
	return append(branches, tags...), err
}

// refs lists the names below a folder of them, without it.
func (r *Repo) refs(below string) ([]string, error) {
	out, err := r.git("for-each-ref", "--format=%(refname)", below)
	if err != nil {
		return nil, err
	}
	var names []string
	for _, name := range strings.Fields(out) {
		names = append(names, strings.TrimPrefix(name, below+"/"))
	}
	return names, nil
}
