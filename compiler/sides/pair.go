package sides

import (
	"errors"
	"os"
	"path/filepath"
	"strings"

	"fettle/compiler/git"
	"fettle/compiler/review"
	"fettle/lang/diag"
)

// Pair gives the two sides that zero, one or two names ask for.
func (f *Finder) Pair(names []string) (old, new *review.Side, err error) {
	if len(names) > 0 {
		f.ahead(names[0])
	}
	switch len(names) {
	case 0:
		f.ahead("HEAD")
		_, _ = f.tree() // while git begins; its faults are told where it is asked for
		if old, err = f.revision("HEAD", ""); err != nil {
			return nil, nil, err
		}
		new, err = f.treeSide("")
		return old, new, err
	case 1:
		return f.one(names[0])
	}
	// A revision's tune is asked for by what stands in it; the work tree is
	// opened for names alone.
	if old, err = f.operand(names[0]); err != nil {
		return nil, nil, err
	}
	if new, err = f.operand(names[1]); err != nil {
		return nil, nil, err
	}
	if err = oneTable(old, new); err == nil {
		err = bothThere(old, new)
	}
	return old, new, err
}

// bothThere refuses a tune whose namesake the other side hasn't got.
func bothThere(a, b *review.Side) error {
	for _, p := range [][2]*review.Side{{a, b}, {b, a}} {
		one, many := p[0], p[1]
		if !one.Single || many.Single || len(one.Tunes) != 1 {
			continue
		}
		name := one.Tunes[0].Name
		has := false
		for _, t := range many.Tunes {
			has = has || t.Name == name
		}
		for _, t := range many.Tables {
			has = has || t.Name == name
		}
		if !has {
			return wrong("%s holds no tune %s: name the tune to compare it with", many.Origin.Title, name)
		}
	}
	return nil
}

// one compares what a name stands for with the work tree; a tune of the work
// tree with itself at HEAD.
func (f *Finder) one(name string) (old, new *review.Side, err error) {
	kind, rev, pattern, err := f.kind(name)
	if err != nil {
		return nil, nil, err
	}
	switch {
	case kind == isPath && f.isHere(name):
		return f.Pair(nil)
	case kind == isTune:
		if old, err = f.revision("HEAD", pattern); err == nil {
			new, err = f.treeSide(pattern)
		}
		return old, new, err
	case kind == isRevision:
		if old, err = f.revision(rev, pattern); err == nil {
			if pattern != "" && len(old.Tunes) == 0 {
				return nil, nil, f.noTune(old, pattern)
			}
			new, err = f.treeSide(pattern)
		}
		return old, new, err
	}
	if old, err = f.path(name); err != nil {
		return nil, nil, err
	}
	if f.Dir == "" {
		return nil, nil, wrong("there is no workspace here to compare %s with: name the other side", name)
	}
	if new, err = f.treeSide(""); err == nil {
		err = oneTable(old, new)
	}
	return old, new, err
}

func (f *Finder) revision(rev, pattern string) (*review.Side, error) {
	s, err := f.Revision(rev)
	if err != nil {
		return nil, err
	}
	return s.side(pattern), nil
}

func (f *Finder) treeSide(pattern string) (*review.Side, error) {
	s, err := f.WorkTree()
	if err != nil {
		return nil, err
	}
	return s.side(pattern), nil
}

// operand gives the side that a name stands for; a pattern must name a tune.
func (f *Finder) operand(name string) (*review.Side, error) {
	kind, rev, pattern, err := f.kind(name)
	if err != nil {
		return nil, err
	}
	var side *review.Side
	switch kind {
	case isPath:
		return f.path(name)
	case isRevision:
		side, err = f.revision(rev, pattern)
	default:
		side, err = f.treeSide(pattern)
	}
	if err == nil && pattern != "" && len(side.Tunes) == 0 {
		err = f.noTune(side, pattern)
	}
	return side, err
}

func (f *Finder) noTune(side *review.Side, pattern string) error {
	title, _, _ := strings.Cut(side.Origin.Title, ":")
	if near := diag.Nearest(pattern, side.Plan.Names()); near != "" {
		return wrong("%s holds no tune %s: did you mean %s?", title, pattern, near)
	}
	return wrong("%s holds no tune %s", title, pattern)
}

type operandKind int

const (
	isTune operandKind = iota
	isRevision
	isPath
)

// kind tells what a name is: REV:PATTERN and paths by their form, the rest by
// what there is of that name.
func (f *Finder) kind(name string) (k operandKind, rev, pattern string, err error) {
	if byForm(name) {
		return isPath, "", "", nil
	}
	if rev, pattern, ok := strings.Cut(name, ":"); ok {
		if rev == "" { // of the work tree
			return isTune, "", pattern, nil
		}
		return isRevision, rev, pattern, nil
	}
	_, statErr := os.Stat(name)
	onDisk := statErr == nil
	var tree *Source
	if f.Dir != "" {
		if tree, err = f.tree(); err != nil {
			var broken *SourceError
			if !errors.As(err, &broken) || !f.isRevision(name) {
				return 0, "", "", err
			}
			return isRevision, name, "", nil // the work tree's own errors are told where it is needed
		}
	}
	tune := false
	if tree != nil {
		found, _ := tree.Select([]string{name}, nil)
		tune = len(found) > 0
	}
	revision := f.isRevision(name)
	switch {
	case tune && revision:
		return 0, "", "", wrong("%s is a tune and a git revision: write :%s for the tune, %s: for the revision", name, name, name)
	case tune && onDisk:
		return 0, "", "", wrong("%s is a tune and also stands here as a file or folder: write :%s for the tune, ./%s for that", name, name, name)
	case revision && onDisk:
		return 0, "", "", wrong("%s is a git revision and also stands here as a file or folder: write %s: for the revision, ./%s for that", name, name, name)
	case tune:
		return isTune, "", name, nil
	case revision:
		return isRevision, name, "", nil
	case onDisk:
		return isPath, "", "", nil
	}
	return 0, "", "", f.nothing(name, tree)
}

// byForm says whether a name can only be a path.
func byForm(name string) bool {
	return strings.HasPrefix(name, "./") || strings.HasPrefix(name, "../") || name == "." || name == ".." || filepath.IsAbs(name) || strings.HasSuffix(name, ".csv") && !strings.Contains(name, ":")
}

func (f *Finder) isRevision(name string) bool {
	repo, err := f.Repo()
	return err == nil && repo.IsRevision(name)
}

// nothing says that a name stands for nothing, and what is near.
func (f *Finder) nothing(name string, tree *Source) error {
	if tree != nil {
		if out, ok := tree.Plan.Out(name); ok {
			return wrong("%s is left out by `except %s` (%s)", name, out.Clause.Text, out.Clause.Span)
		}
		if near := diag.Nearest(name, tree.Plan.Names()); near != "" {
			return wrong("no tune is called %s: did you mean %s?", name, near)
		}
	}
	repo, err := f.Repo()
	if err == nil {
		var why *git.RevisionError
		if _, err := repo.Commit(name); errors.As(err, &why) && why.Kind != git.ErrUnknownRevision {
			return wrong("%v", err)
		} else if errors.As(err, &why) && len(why.Near) > 0 {
			return wrong("%s is no tune, revision, file or folder: did you mean %s?", name, why.Near[0])
		}
	}
	switch {
	case f.Dir == "":
		return wrong("there is no file or folder %s, and no workspace here whose tune it could be", name)
	case err != nil:
		return wrong("no tune, file or folder is called %s; `fettle list` names the tunes (%v)", name, err)
	}
	return wrong("no tune, revision, file or folder is called %s; `fettle list` names the tunes", name)
}
