package git

import (
	"errors"
	"testing"
)

// TestMerging: the commits of a merge are found by what git tells a driver, or by
// the file's bytes; and not where there are two ways.
func TestMerging(t *testing.T) {
	w := newWorld(t)
	file := func(text string) string {
		w.write("f", text)
		return w.commit(text)
	}
	file("zero")
	base := file("base")
	w.git("checkout", "-q", "-b", "side")
	theirs := file("theirs")
	w.git("checkout", "-q", "main")
	ours := file("ours")
	r := w.open("")
	look := func(env []string, path, b, o, th string) (*Merging, error) {
		t.Helper()
		m, err := r.Merging(env, path, []byte(b), []byte(o), []byte(th))
		if err == nil && m.Ours.Hash != ours {
			t.Errorf("ours is %s", m.Ours.Hash)
		}
		return m, err
	}
	want := func(m *Merging, err error, base, theirs string) {
		t.Helper()
		if err != nil || m.Base.Hash != base || m.Theirs.Hash != theirs {
			t.Errorf("got %+v, %v", m, err)
		}
	}
	m, err := look([]string{"A=b", "GITHEAD_" + theirs + "=side"}, "f", "base", "ours", "theirs")
	want(m, err, base, theirs)
	m, err = look(nil, "f", "base", "ours", "theirs") // a pick
	want(m, err, base, theirs)
	m, err = look(nil, "f", "theirs", "ours", "base") // a revert
	want(m, err, theirs, base)
	m, err = look(nil, "renamed", "base", "ours", "theirs")
	want(m, err, base, theirs)
	for _, c := range []struct {
		b, o, t string
		want    error
	}{
		{"base", "other", "theirs", ErrNotOurs},
		{"other", "ours", "theirs", ErrNotMerging},
		{"base", "ours", "other", ErrNotMerging},
	} {
		if m, err := look([]string{"GITHEAD_" + theirs + "=side", "GITHEAD_--all=x"}, "f", c.b, c.o, c.t); !errors.Is(err, c.want) {
			t.Errorf("%v: %+v, %v", c, m, err)
		}
	}

	// A second commit with the same change of the file: told apart by the rest, if
	// there is any.
	w.git("checkout", "-q", "-b", "twin", base)
	twin := file("theirs")
	w.git("checkout", "-q", "main")
	if m, err = look(nil, "f", "base", "ours", "theirs"); err != nil || m.Theirs.Hash != theirs && m.Theirs.Hash != twin {
		t.Errorf("twins: %+v, %v", m, err)
	}
	w.git("checkout", "-q", "twin")
	w.write("g", "more")
	w.git("add", "g")
	w.git("commit", "-q", "--amend", "-m", "more")
	w.git("checkout", "-q", "main")
	if m, err = look(nil, "f", "base", "ours", "theirs"); !errors.Is(err, ErrNotMerging) {
		t.Errorf("two ways: %+v, %v", m, err)
	}
}

// TestRenames: what has another name, by its new one.
func TestRenames(t *testing.T) {
	w := newWorld(t)
	w.write("a/old name", "one\ntwo\nthree\nfour\nfive\n")
	w.write("stays", "x\n")
	w.commit("before")
	w.git("mv", "a/old name", "a/new\tname")
	w.write("a/new\tname", "one\ntwo\nthree\nfour\nsix\n")
	w.write("stays", "y\n")
	w.commit("after")
	r := w.open("")
	before, err := r.Commit("HEAD~1")
	if err != nil {
		t.Fatal(err)
	}
	after, err := r.Commit("HEAD")
	if err != nil {
		t.Fatal(err)
	}
	if old, err := r.Renames(before, after); err != nil || len(old) != 1 || old["a/new\tname"] != "a/old name" {
		t.Errorf("%v, %v", old, err)
	}
}
