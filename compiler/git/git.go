// Package git asks the real git, found on the PATH, about the folder of a
// workspace. Where there is no git, or no repository, it says so by empty values:
// a build never fails for want of git.
//
// In: a folder and names of files in it. Out: plain values. Imported by cmd;
// imports nothing of ours.
package git

import (
	"bytes"
	"os"
	"os/exec"
	"strings"
)

// Revision gives the commit that a folder's work tree is at, and whether any of
// the files named differs from it. It is "" outside a repository and before the
// first commit.
func Revision(dir string, files []string) (rev string, dirty bool) {
	out, err := run(dir, "rev-parse", "--verify", "--quiet", "HEAD^{commit}")
	if err != nil {
		return "", false
	}
	rev = strings.TrimSpace(out)
	// The -- keeps a file's name from being taken for an option.
	args := append([]string{"status", "--porcelain", "--untracked-files=all", "--ignored=matching", "--"}, literal(files)...)
	out, err = run(dir, args...)
	return rev, err != nil || strings.TrimSpace(out) != ""
}

// literal keeps a name from being taken for a pattern.
func literal(files []string) []string {
	out := make([]string, len(files))
	for i, f := range files {
		out[i] = ":(literal)" + f
	}
	return out
}

func run(dir string, args ...string) (string, error) {
	cmd := exec.Command("git", args...)
	cmd.Dir = dir
	// Reading alone: no lock is taken, no pager and no prompt started.
	cmd.Env = append(os.Environ(), "GIT_OPTIONAL_LOCKS=0", "GIT_PAGER=cat", "GIT_TERMINAL_PROMPT=0", "LC_ALL=C")
	var out bytes.Buffer
	cmd.Stdout = &out
	err := cmd.Run()
	return out.String(), err
}
