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
// What git is told. No shell, no prompt, no pager, no hook, no network, no program
// that a repository's config or attributes name, no lock for reading, no
// translation, no patterns in paths. Whether files differ from a commit is looked at
// here, byte by byte, since `git status` would run the filters that attributes ask
// for. What begins with a minus is no revision, and paths stand behind a --. The
// repository is the one that the folder lies in, whatever the environment says: git
// sets GIT_DIR, GIT_INDEX_FILE and their like for its hooks and aliases, and they
// would speak of another folder than the one that is asked about. So of the
// variables of git's own only those pass that say which config it reads, where its
// own parts are and how far it searches; what -c sets here outweighs them.
//
// In: a folder, and names of revisions and files. Out: plain values, an fs.FS,
// and errors that are worded for a tuner. Imported by sides and cmd; imports
// nothing of ours.
package git

import (
	"bytes"
	"os"
)

// Revision gives the commit that a folder's work tree is at, and whether any of
// the files named differs from it: in its bytes, but for line ends, which git turns
// for Windows. It is "" outside a repository and before the first commit: a build
// never fails for want of git.
func Revision(dir string, files []string) (rev string, dirty bool) {
	r, err := Open(dir)
	if err != nil {
		return "", false
	}
	defer r.Close()
	head, err := r.objects.ask("HEAD^{commit}")
	if err != nil {
		return "", false
	}
	was, err := r.Files(Commit{Hash: head.hash})
	if err != nil {
		return head.hash, true
	}
	is, err := os.OpenRoot(r.dir)
	if err != nil {
		return head.hash, true
	}
	defer is.Close()
	for _, name := range files {
		if !sameText(was, is, name) {
			return head.hash, true
		}
	}
	return head.hash, false
}

// sameText says whether a file of the work tree is that of a commit.
func sameText(was *Tree, is *os.Root, name string) bool {
	st, err := is.Stat(name)
	if err != nil || !st.Mode().IsRegular() || st.Size() > MaxBlob {
		return false // opening a pipe would wait for its writer
	}
	a, err := was.ReadFile(name)
	if err != nil {
		return false
	}
	b, err := is.ReadFile(name)
	return err == nil && (bytes.Equal(a, b) || bytes.Equal(unixLines(a), unixLines(b)))
}

func unixLines(b []byte) []byte { return bytes.ReplaceAll(b, []byte("\r\n"), []byte("\n")) }
