// Package git asks the real git, found on the PATH, about the folder of a
// workspace, and tells it how to show and merge tables.
//
// How it goes. Open asks once which repository a folder lies in, and where in
// it. One `git cat-file --batch` process then answers everything that is asked
// of objects, a line for a question: it resolves what a user called a revision,
// gives the commit, and its folders and files as they are asked for, so that
// nothing is read that isn't looked at, and neither the work tree nor the index
// is touched. What has been read is kept, by hash: a file that is the same in
// many commits is read once. History, names and common ancestors are one short
// process each.
//
// What git is told. No shell, no prompt, no pager, no hook, no program that a
// repository's config names, no lock for reading, no translation, no patterns in
// paths. The repository is the one that the folder lies in, whatever the
// environment says: git sets GIT_DIR, GIT_INDEX_FILE and their like for its
// hooks and aliases, and they would speak of another folder than the one that is
// asked about. So of the variables of git's own only those pass that say how to
// reach it (its config files, the limits of its search, its ways to a remote).
//
// In: a folder, and names of revisions and files. Out: plain values, an fs.FS,
// and errors that are worded for a tuner. Imported by sides and cmd; imports
// nothing of ours.
package git

import (
	"strings"
)

// Revision gives the commit that a folder's work tree is at, and whether any of
// the files named differs from it. It is "" outside a repository and before the
// first commit: a build never fails for want of git.
func Revision(dir string, files []string) (rev string, dirty bool) {
	out, err := run(dir, nil, "rev-parse", "--verify", "--quiet", "HEAD^{commit}")
	if err != nil {
		return "", false
	}
	rev = strings.TrimSpace(out)
	// The -- keeps a file's name from being taken for an option.
	args := append([]string{"status", "--porcelain", "--untracked-files=all", "--ignored=matching", "--"}, files...)
	out, err = run(dir, nil, args...)
	return rev, err != nil || strings.TrimSpace(out) != ""
}
