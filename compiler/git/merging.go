package git

import (
	"bytes"
	"crypto/sha1"
	"crypto/sha256"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// Merging is a merge under way, as a merge driver finds it.
type Merging struct {
	Base, Ours, Theirs Commit
}

// ErrNotMerging says that the commits which are being merged can't be told.
var ErrNotMerging = errors.New("the commits that are being merged can't be told")

// ErrNotOurs says that HEAD hasn't the file as ours: what is merged is something
// else, such as two of several common ancestors.
var ErrNotOurs = errors.New("HEAD hasn't the file that is merged")

// Merging finds the commits that are being merged while a driver merges a file:
// ours is HEAD. Theirs is named by the environment (git merge does that), by the
// files that a merge, a rebase or a pick of several commits leaves, or else it is
// the one commit that turned the file's base into theirs (a cherry-pick) or
// theirs into its base (a revert). What is found counts only if the three
// commits have the file with the bytes that the driver got.
func (r *Repo) Merging(environ []string, path string, base, ours, theirs []byte) (*Merging, error) {
	head, err := r.Commit("HEAD")
	if err != nil {
		return nil, err
	}
	f := &finding{r: r, path: path, head: head, data: [3][]byte{base, ours, theirs}}
	if !f.has(head, 1) {
		return nil, ErrNotOurs
	}
	for _, rev := range f.merged(environ) {
		c, err := r.Commit(rev)
		if err != nil {
			continue
		}
		if b, err := r.MergeBase(head, c); err == nil && f.has(c, 2) && f.has(b, 0) {
			return &Merging{b, head, c}, nil
		}
	}
	for _, rev := range f.picked() {
		if c, err := r.Commit(rev); err == nil {
			if m := f.pick(c); m != nil {
				return m, nil
			}
		}
	}
	return f.hunt()
}

// finding is a search for the commits of a merge.
type finding struct {
	r    *Repo
	path string
	head Commit
	data [3][]byte // of base, ours and theirs
}

// has says whether a commit has one of the versions: at the file's path, or, for
// a file that was renamed, anywhere.
func (f *finding) has(c Commit, version int) bool {
	t, err := f.r.Files(c)
	if err != nil {
		return false
	}
	if b, err := t.ReadFile(f.path); err == nil {
		return bytes.Equal(b, f.data[version])
	}
	if len(f.data[version]) == 0 {
		return true // git gives an empty file for one that isn't there
	}
	left := 20_000 // files and folders that are looked at
	return t.holds(t.hash, blobHash(f.data[version], len(c.Hash)), &left)
}

func (t *Tree) holds(folder, blob string, left *int) bool {
	list, err := t.list(folder)
	if err != nil {
		return false
	}
	for _, e := range list {
		if *left--; *left < 0 {
			return false
		}
		if e.hash == blob || e.kind == isFolder && t.holds(e.hash, blob, left) {
			return true
		}
	}
	return false
}

// blobHash is git's name for a file's bytes, of as many digits as its others.
func blobHash(data []byte, digits int) string {
	all := append(fmt.Appendf(nil, "blob %d\x00", len(data)), data...)
	if digits == 2*sha256.Size {
		return fmt.Sprintf("%x", sha256.Sum256(all))
	}
	return fmt.Sprintf("%x", sha1.Sum(all))
}

// merged names what a merge is said to bring in. A merge of several branches at
// once has no driver.
func (f *finding) merged(environ []string) []string {
	var out []string
	for _, v := range environ {
		name, _, _ := strings.Cut(v, "=")
		if hash, ok := strings.CutPrefix(name, "GITHEAD_"); ok && isHash(hash) {
			out = append(out, hash)
		}
	}
	slices.Sort(out)
	return append(out, f.words("MERGE_HEAD", 0, false)...)
}

// picked names what is said to be put on top of HEAD.
func (f *finding) picked() []string {
	out := f.words("rebase-merge/done", 1, true)
	out = append(out, f.words("sequencer/todo", 1, false)...)
	for _, name := range []string{"CHERRY_PICK_HEAD", "REVERT_HEAD", "REBASE_HEAD"} {
		out = append(out, f.words(name, 0, false)...)
	}
	return out
}

// words gives a word of the first or last line of a file of the repository.
func (f *finding) words(name string, word int, last bool) []string {
	out, err := f.r.git("rev-parse", "--git-path", name)
	if err != nil {
		return nil
	}
	file := strings.TrimSuffix(out, "\n")
	if !filepath.IsAbs(file) {
		file = filepath.Join(f.r.dir, file)
	}
	b, err := os.ReadFile(file)
	if err != nil {
		return nil
	}
	lines := strings.Split(strings.TrimSpace(string(b)), "\n")
	line := lines[0]
	if last {
		line = lines[len(lines)-1]
	}
	if words := strings.Fields(line); word < len(words) {
		return words[word : word+1]
	}
	return nil
}

// pick takes a commit for one that is picked or reverted; nil if it is neither.
func (f *finding) pick(c Commit) *Merging {
	for _, hash := range c.Parents {
		parent, err := f.r.Commit(hash)
		switch {
		case err != nil:
		case f.has(c, 2) && f.has(parent, 0):
			return &Merging{parent, f.head, c}
		case f.has(c, 0) && f.has(parent, 2):
			return &Merging{c, f.head, parent}
		}
	}
	return nil
}

// hunt looks through the history for the commit that is picked or reverted. If
// there are two whose files differ, there is no telling.
func (f *finding) hunt() (*Merging, error) {
	out, err := f.r.git("log", "--all", "--reflog", "-m", "--no-renames", "--no-ext-diff", "--no-textconv", "--max-count=64", "--format=%H",
		"--find-object="+blobHash(f.data[2], len(f.head.Hash)), "HEAD", "--")
	if err != nil {
		return nil, err
	}
	var found *Merging
	for _, hash := range strings.Fields(out) {
		c, err := f.r.Commit(hash)
		if err != nil {
			continue
		}
		m := f.pick(c)
		switch {
		case m == nil:
		case found == nil:
			found = m
		case found.Base.Tree != m.Base.Tree || found.Theirs.Tree != m.Theirs.Tree:
			return nil, ErrNotMerging
		}
	}
	if found == nil {
		return nil, ErrNotMerging
	}
	return found, nil
}

// Renames gives the files of the repository that have another name in a commit
// than in one before: the old name of each new one.
func (r *Repo) Renames(from, to Commit) (map[string]string, error) {
	out, err := r.git("diff-tree", "-r", "-z", "--find-renames", "--diff-filter=R", "--name-status", "--no-ext-diff", "--no-textconv", from.Hash, to.Hash, "--")
	if err != nil {
		return nil, err
	}
	old := map[string]string{}
	for f := strings.Split(out, "\x00"); len(f) >= 3; f = f[3:] {
		old[f[2]] = f[1]
	}
	return old, nil
}
