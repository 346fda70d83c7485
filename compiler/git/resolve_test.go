package git

import (
	"crypto/sha1"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestCommit(t *testing.T) {
	w := newWorld(t)
	w.write("tune.fettle", "one\n")
	first := w.commit("The base,\nas proven\n\nOn a cold day.")
	w.git("tag", "-a", "v1.0", "-m", "the first release")
	w.write("tune.fettle", "two\n")
	w.env = []string{"GIT_AUTHOR_NAME=Åsa \x1b[31mØ\u202e", "GIT_AUTHOR_DATE=1600000000 -0930"}
	second := w.commit("Richer\ton the pipe \x1b]0;x\x07")
	r := w.open(".")

	got := at(t, r, "HEAD")
	want := Commit{
		Hash: second, Short: w.git("rev-parse", "--short=7", "HEAD"), Tree: w.git("rev-parse", "HEAD^{tree}"), Parents: []string{first},
		Author: "Åsa  [31mØ", Date: "2020-09-13T02:56:40-09:30", Subject: "Richer on the pipe  ]0;x",
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
	got = at(t, r, "v1.0")
	if got.Hash != first || got.Author != "Ann Driver" || got.Date != "2023-11-14T23:44:20+01:30" || got.Subject != "The base, as proven" || got.Parents != nil {
		t.Errorf("%+v", got)
	}
	for _, rev := range []string{"main", "@", "HEAD~0", second, second[:7], "heads/main", ":/the pipe", "main@{0}", "v1.0^{}", "main^", "HEAD~1", "tags/v1.0", "HEAD^{/proven}"} {
		want := second
		if strings.ContainsAny(rev, "v") || rev == "main^" || rev == "HEAD~1" {
			want = first
		}
		if got := at(t, r, rev); got.Hash != want {
			t.Errorf("%s is %s, want %s", rev, got.Hash, want)
		}
		if !r.IsRevision(rev) {
			t.Errorf("%s is a revision", rev)
		}
	}
	if mb, err := r.MergeBase(at(t, r, "main"), at(t, r, "v1.0")); err != nil || mb.Hash != first {
		t.Errorf("%v %v", mb, err)
	}
}

func TestNoSuchCommit(t *testing.T) {
	w := newWorld(t)
	w.write("tune.fettle", "one\n")
	w.write("bench/a.csv", "x\n")
	first := w.commit("one")
	w.git("branch", "season")
	w.git("tag", "release_1.2")
	w.git("tag", "file", first+":tune.fettle")
	w.git("update-ref", "refs/remotes/origin/wet", first)
	w.git("update-ref", "refs/heads/-evil", first)
	w.git("branch", "both")
	w.write("tune.fettle", "two\n")
	second := w.commit("two")
	w.git("tag", "both")
	w.git("branch", "same")
	w.git("tag", "same")
	r := w.open(".")
	for _, c := range []struct {
		rev  string
		kind error
		says string
	}{
		{"", ErrUnknownRevision, "the revision is empty"},
		{"nothing_like_it", ErrUnknownRevision, "there is no branch, tag or commit nothing_like_it"},
		{"seasn", ErrUnknownRevision, "there is no branch, tag or commit seasn: did you mean season?"},
		{"release_1.3", ErrUnknownRevision, "did you mean release_1.2?"},
		{"Season~1", ErrUnknownRevision, "did you mean season?"},
		{"wet", ErrUnknownRevision, "did you mean origin/wet?"},
		{"main~2", ErrUnknownRevision, "there is no main~2: the history of main has nothing there"},
		{"main^2", ErrUnknownRevision, "there is no main^2: the history of main has nothing there"},
		{"@{u}", ErrUnknownRevision, "there is no @{u}: git says: no upstream configured for branch 'main'"},
		{"main@{99}", ErrUnknownRevision, "there is no main@{99}: git says: log for 'main' only has 2 entries"},
		{"-evil", ErrUnknownRevision, "none begins with -"},
		{"--all", ErrUnknownRevision, "none begins with -"},
		{"main\nHEAD", ErrUnknownRevision, `the revision "main\nHEAD" has characters that no revision has`},
		{"main\x00", ErrUnknownRevision, "has characters that no revision has"},
		{"main..season", ErrNotCommit, "main..season is a set of commits"},
		{"main...season", ErrNotCommit, "is a set of commits"},
		{"^main", ErrNotCommit, "is a set of commits"},
		{"main^@", ErrNotCommit, "is a set of commits"},
		{"main^!", ErrNotCommit, "is a set of commits"},
		{"main^-", ErrNotCommit, "is a set of commits"},
		{"main:tune.fettle", ErrNotCommit, "main:tune.fettle is no commit but a file"},
		{"HEAD:bench", ErrNotCommit, "HEAD:bench is no commit but a folder"},
		{"HEAD^{tree}", ErrNotCommit, "HEAD^{tree} is no commit but a folder"},
		{"file", ErrNotCommit, "file is no commit but a file"},
		{"both", ErrAmbiguous, "both is a tag and a branch: write tags/both or heads/both"},
		{"both~0", ErrAmbiguous, "write tags/both~0 or heads/both~0"},
		{strings.Repeat("0", 40), ErrUnknownRevision, "there is no branch, tag or commit 000"},
	} {
		got, err := r.Commit(c.rev)
		var re *RevisionError
		if !errors.Is(err, c.kind) || !errors.As(err, &re) || re.Rev != c.rev || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%q: %v %v; want %q", c.rev, got, err, c.says)
		}
		if is := r.IsRevision(c.rev); is != (c.kind == ErrAmbiguous) {
			t.Errorf("%q is a revision: %v", c.rev, is)
		}
	}
	for rev, want := range map[string]string{"tags/both": second, "heads/both": first, "same": second, "heads/-evil": first} {
		if got := at(t, r, rev); got.Hash != want {
			t.Errorf("%s is %s", rev, got.Hash)
		}
	}
	if tags, err := r.Tags(); err != nil || cmp.Diff([]string{"both", "file", "release_1.2", "same"}, tags) != "" {
		t.Errorf("%q %v", tags, err)
	}
	w.git("symbolic-ref", "refs/remotes/origin/HEAD", "refs/remotes/origin/wet")
	if branches, err := r.Branches(); err != nil || cmp.Diff([]string{"-evil", "both", "main", "same", "season", "origin/wet"}, branches) != "" {
		t.Errorf("%q %v", branches, err)
	}
}

// A short hash that several objects have is asked for again; one that could be a
// tune's name is none.
func TestShortHash(t *testing.T) {
	w := newWorld(t)
	w.write("tune.fettle", "base\n")
	begins := ""
	for seen := map[string]string{}; begins == ""; {
		text := strings.Repeat("x", len(seen))
		hash := fmt.Sprintf("%x", sha1.Sum([]byte("blob "+strconv.Itoa(len(text))+"\x00"+text)))[:4]
		if other, ok := seen[hash]; ok {
			w.write("a.csv", text)
			w.write("b.csv", other)
			begins = hash
		}
		seen[hash] = text
	}
	w.commit("one")
	r := w.open(".")
	if _, err := r.Commit(begins); !errors.Is(err, ErrAmbiguous) || !strings.Contains(err.Error(), "write more of its digits") {
		t.Errorf("%s: %v", begins, err)
	}
	c := at(t, r, "HEAD")
	if r.IsRevision(c.Hash[:5]) || !r.IsRevision(c.Hash[:9]) {
		t.Error("seven digits tell a hash from a name")
	}
	w.git("branch", c.Short, "HEAD")
	w.commit("two")
	w.git("branch", "-f", c.Short, "HEAD")
	if again := at(t, w.open("."), c.Hash); len(again.Short) != len(c.Short)+1 {
		t.Errorf("a branch is called %s, and the commit too: %s", c.Short, again.Short)
	}
}

func TestNoCommitYet(t *testing.T) {
	w := newWorld(t)
	w.write("tune.fettle", "one\n")
	r := w.open(".")
	for _, rev := range []string{"HEAD", "main", "HEAD~1", "@", "v1"} {
		if c, err := r.Commit(rev); !errors.Is(err, ErrNoCommit) || !strings.Contains(err.Error(), "no commit yet") {
			t.Errorf("%s: %v %v", rev, c, err)
		}
	}
	if _, err := r.History(nil, 0); !errors.Is(err, ErrNoCommit) {
		t.Error(err)
	}
	if rev, dirty := Revision(w.dir, []string{"tune.fettle"}); rev != "" || dirty {
		t.Errorf("%q %v", rev, dirty)
	}
}

func TestShallowClone(t *testing.T) {
	w := newWorld(t)
	w.write("tune.fettle", "one\n")
	first := w.commit("one")
	w.git("tag", "v1")
	w.write("tune.fettle", "two\n")
	w.commit("two")
	w.write("tune.fettle", "three\n")
	w.commit("three")
	clone := filepath.Join(t.TempDir(), "clone")
	w.git("clone", "-q", "--depth", "2", "file://"+w.dir, clone)
	r := open(t, clone)
	if !r.Shallow() {
		t.Fatal("the clone is shallow")
	}
	for rev, says := range map[string]string{"HEAD~2": "HEAD~2 is cut off: this clone is shallow, and `git fetch --unshallow` gets the rest", first: "there is no commit " + first + " here, but this clone is shallow"} {
		if _, err := r.Commit(rev); !errors.Is(err, ErrShallow) || !strings.Contains(err.Error(), says) {
			t.Errorf("%s: %v", rev, err)
		}
	}
	if _, err := r.Commit("v1"); !errors.Is(err, ErrUnknownRevision) || !strings.Contains(err.Error(), "fetch --unshallow") {
		t.Error(err)
	}
	list, err := r.History([]string{"tune.fettle"}, 0)
	if err != nil || len(list) != 2 || list[0].Cut || !list[1].Cut || list[1].Parents != nil {
		t.Errorf("%+v %v", list, err)
	}
	w.in(clone, "fetch", "-q", "--unshallow")
	if r := open(t, clone); r.Shallow() || at(t, r, "HEAD~2").Hash != first {
		t.Error("the whole is there now")
	}
}

func TestOpen(t *testing.T) {
	w := newWorld(t)
	w.write("a/b c/tune.fettle", "one\n")
	w.commit("one")
	real, err := filepath.EvalSymlinks(w.dir)
	if err != nil {
		t.Fatal(err)
	}
	for folder, want := range map[string]string{".": "", "a": "a", "a/b c": "a/b c"} {
		r := w.open(folder)
		top, err := filepath.EvalSymlinks(r.Top())
		if r.Prefix() != want || err != nil || top != real || r.Shallow() {
			t.Errorf("%s: %q %q %v", folder, r.Prefix(), top, err)
		}
	}
	// Git's own folder and a bare repository hold no workspace.
	bare := filepath.Join(t.TempDir(), "bare")
	w.git("init", "-q", "--bare", bare)
	for _, dir := range []string{filepath.Join(w.dir, ".git"), bare, t.TempDir()} {
		if _, err := Open(dir); !errors.Is(err, ErrNoRepository) {
			t.Errorf("%s: %v", dir, err)
		}
	}
	t.Setenv("PATH", t.TempDir())
	if _, err := Open(w.dir); !errors.Is(err, ErrNoGit) {
		t.Error(err)
	}
	if rev, dirty := Revision(w.dir, nil); rev != "" || dirty {
		t.Errorf("%q %v", rev, dirty)
	}
}

// The folder says which repository is meant, not the variables that git sets for
// its hooks; and a repository's config starts no program.
func TestEnvironmentAndConfigAreNotObeyed(t *testing.T) {
	w, other := newWorld(t), newWorld(t)
	w.write("sub/tune.fettle", "one\n")
	hash := w.commit("one")
	other.write("tune.fettle", "other\n")
	other.commit("other")
	ran := filepath.Join(t.TempDir(), "ran")
	program := filepath.Join(t.TempDir(), "program")
	if err := os.WriteFile(program, []byte("#!/bin/sh\ntouch "+ran+"\n"), 0o755); err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{"core.fsmonitor", "core.pager", "diff.external", "core.sshCommand", "core.editor", "core.askPass"} {
		w.git("config", key, program)
	}
	w.git("config", "log.showSignature", "true")
	w.git("config", "gpg.program", program)
	for k, v := range map[string]string{
		"GIT_DIR": filepath.Join(other.dir, ".git"), "GIT_WORK_TREE": other.dir, "GIT_INDEX_FILE": filepath.Join(other.dir, ".git", "index"),
		"GIT_PREFIX": "x/", "GIT_OBJECT_DIRECTORY": filepath.Join(other.dir, ".git", "objects"), "GIT_NAMESPACE": "n", "GIT_EXTERNAL_DIFF": program, "GIT_PAGER": program,
		"GIT_ICASE_PATHSPECS": "1", "GIT_DIFF_OPTS": "--unified=0",
	} {
		t.Setenv(k, v)
	}
	r := w.open("sub")
	if got := at(t, r, "HEAD"); got.Hash != hash || r.Prefix() != "sub" {
		t.Errorf("%+v", got)
	}
	if b, err := files(t, r, "HEAD").ReadFile("tune.fettle"); err != nil || string(b) != "one\n" {
		t.Errorf("%q %v", b, err)
	}
	if list, err := r.History(nil, 0); err != nil || len(list) != 1 {
		t.Errorf("%v %v", list, err)
	}
	if rev, dirty := Revision(filepath.Join(w.dir, "sub"), []string{"tune.fettle"}); rev != hash || dirty {
		t.Errorf("%s %v", rev, dirty)
	}
	if _, err := os.Stat(ran); err == nil {
		t.Error("a program of the config ran")
	}
}

func TestLinkedWorktree(t *testing.T) {
	w := newWorld(t)
	w.write("sub/tune.fettle", "one\n")
	w.commit("one")
	w.git("branch", "next")
	linked := filepath.Join(t.TempDir(), "linked")
	w.git("worktree", "add", "-q", linked, "next")
	if err := os.WriteFile(filepath.Join(linked, "sub", "tune.fettle"), []byte("two\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	w.in(linked, "commit", "-qam", "two")
	r := open(t, filepath.Join(linked, "sub"))
	for rev, want := range map[string]string{"HEAD": "two\n", "main": "one\n"} {
		if b, err := files(t, r, rev).ReadFile("tune.fettle"); err != nil || string(b) != want {
			t.Errorf("%s: %q %v", rev, b, err)
		}
	}
	if list, err := r.History([]string{"tune.fettle"}, 1); err != nil || len(list) != 1 || list[0].Subject != "two" {
		t.Errorf("%v %v", list, err)
	}
}
