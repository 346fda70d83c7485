package git

import (
	"errors"
	"fmt"
	"strings"
)

// The reasons for which a text names no commit; errors.Is tells them apart.
var (
	ErrUnknownRevision = errors.New("no such revision")
	ErrAmbiguous       = errors.New("the revision could be two things")
	ErrNotCommit       = errors.New("not one commit")
	ErrShallow         = errors.New("the revision is cut off by a shallow clone")
	ErrNoCommit        = errors.New("no commit yet")
)

// RevisionError says why a text names no commit, in a sentence for a tuner.
type RevisionError struct {
	Rev  string   // as it was given
	Kind error    // one of the reasons above
	Near []string // of an unknown one: branches and tags of nearly that name
	text string
}

func (e *RevisionError) Error() string { return e.text }
func (e *RevisionError) Unwrap() error { return e.Kind }

func refuse(rev string, kind error, format string, args ...any) *RevisionError {
	return &RevisionError{Rev: rev, Kind: kind, text: fmt.Sprintf(format, args...)}
}

const unshallow = "this clone is shallow, and `git fetch --unshallow` gets the rest"

// Commit finds the commit that a revision names, in any way that git knows for
// one: a branch, a tag, HEAD~1, @{u}, a hash. A name that is a tag and a branch,
// of different commits, is refused where git would take the tag. The error is a
// *RevisionError where the revision is at fault.
func (r *Repo) Commit(rev string) (Commit, error) {
	if err := notOne(rev); err != nil {
		return Commit{}, err
	}
	base := baseOf(rev)
	tag, err := r.objects.ask("refs/tags/" + base + "^{commit}")
	branch, err2 := r.objects.ask("refs/heads/" + base + "^{commit}")
	if err == nil && err2 == nil && tag.hash != branch.hash {
		rest := strings.TrimPrefix(rev, base)
		return Commit{}, refuse(rev, ErrAmbiguous, "%s is a tag and a branch: write tags/%s%s or heads/%s%s", base, base, rest, base, rest)
	}
	o, err := r.find(rev)
	var f *failure
	switch {
	case err == nil && o.kind == "commit":
		return r.commit(o)
	case err == nil:
		return Commit{}, refuse(rev, ErrNotCommit, "%s is no commit but %s", rev, what(o.kind))
	case err == errTwoOf:
		return Commit{}, refuse(rev, ErrAmbiguous, "the hashes of several objects begin with %s: write more of its digits", rev)
	case errors.As(err, &f):
		return Commit{}, refuse(rev, ErrUnknownRevision, "there is no %s: %v", rev, f)
	case err == errMissing:
		return Commit{}, r.missing(rev, base)
	}
	return Commit{}, err
}

// IsRevision says whether git knows a commit by this name; it costs next to
// nothing. Fewer than seven digits of a hash don't count: a tune could be called
// by them.
func (r *Repo) IsRevision(name string) bool {
	if notOne(name) != nil {
		return false
	}
	o, err := r.find(name)
	if err != nil || o.kind != "commit" {
		return false
	}
	return len(name) >= 7 || !strings.HasPrefix(o.hash, name)
}

// find gives the commit of a revision, or the object that is no commit.
func (r *Repo) find(rev string) (object, error) {
	o, err := r.objects.ask(rev + "^{commit}")
	if err == errMissing {
		return r.objects.ask(rev) // `:/words` takes all that follows it for words
	}
	return o, err
}

// notOne refuses what can't be one revision, before git sees it.
func notOne(rev string) error {
	switch {
	case rev == "":
		return refuse(rev, ErrUnknownRevision, "the revision is empty")
	case plain(rev) != rev:
		return refuse(rev, ErrUnknownRevision, "the revision %q has characters that no revision has", rev)
	case rev[0] == '-':
		return refuse(rev, ErrUnknownRevision, "there is no revision %s: none begins with -", rev)
	case rev[0] == '^' || strings.HasSuffix(rev, "^@") || strings.HasSuffix(rev, "^!") || strings.Contains(rev, "^-") || strings.Contains(rev, ".."):
		return refuse(rev, ErrNotCommit, "%s is a set of commits: name one on each side", rev)
	}
	return nil
}

// baseOf is the name that a revision begins with: the main of main~2.
func baseOf(rev string) string {
	base := rev
	if i := strings.IndexAny(base, "~^:"); i >= 0 {
		base = base[:i]
	}
	base, _, _ = strings.Cut(base, "@{")
	return base
}

func what(kind string) string {
	switch kind {
	case "blob":
		return "a file"
	case "tree":
		return "a folder"
	}
	return "a tag of something else"
}

// missing says why git finds nothing by a name.
func (r *Repo) missing(rev, base string) error {
	names, err := r.names()
	if err != nil {
		return err
	}
	_, err = r.objects.ask("HEAD")
	if err == errMissing && (len(names) == 0 || base == "" || base == "HEAD" || base == "@") {
		return refuse(rev, ErrNoCommit, "this repository has no commit yet, so there is no %s to compare with", rev)
	}
	if _, err := r.find(base); err == nil && base != rev {
		if r.Shallow() {
			return refuse(rev, ErrShallow, "%s is cut off: %s", rev, unshallow)
		}
		return refuse(rev, ErrUnknownRevision, "there is no %s: the history of %s has nothing there", rev, base)
	}
	if isHash(rev) && r.Shallow() {
		return refuse(rev, ErrShallow, "there is no commit %s here, but %s", rev, unshallow)
	}
	e := refuse(rev, ErrUnknownRevision, "there is no branch, tag or commit %s", rev)
	if e.Near = near(base, names); len(e.Near) > 0 {
		e.text += ": did you mean " + strings.Join(e.Near, " or ") + "?"
	}
	if r.Shallow() {
		e.text += " (" + unshallow + ")"
	}
	return e
}

// near picks the names that could have been meant, at most three, the nearest
// first.
func near(name string, names []string) []string {
	var out []string
	for far := 0; far <= max(1, len(name)/4) && len(out) < 3; far++ {
		for _, n := range names {
			bare := n
			if strings.HasSuffix(n, "/"+name) {
				bare = name // a branch of a remote, or one below a folder
			}
			if len(out) < 3 && distance(strings.ToLower(name), strings.ToLower(bare)) == far {
				out = append(out, n)
			}
		}
	}
	return out
}

// distance counts the characters to be put in, left out or changed to make b of
// a.
func distance(a, b string) int {
	x, y := []rune(a), []rune(b)
	row := make([]int, len(y)+1)
	for j := range row {
		row[j] = j
	}
	for i := range x {
		before := row[0]
		row[0] = i + 1
		for j := range y {
			cost := before
			if x[i] != y[j] {
				cost++
			}
			before = row[j+1]
			row[j+1] = min(cost, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(y)]
}
