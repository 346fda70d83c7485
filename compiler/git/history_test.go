package git

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

func subjects(list []Commit) []string {
	var out []string
	for _, c := range list {
		out = append(out, c.Subject)
	}
	return out
}

func TestHistory(t *testing.T) {
	w := newWorld(t)
	w.write("ws/tune.fettle", "1\n2\n3\n4\n5\n")
	w.write("ws/a*.csv", "star\n")
	w.write("ws/ab.csv", "1\n")
	w.commit("base")
	w.write("ws/ab.csv", "2\n")
	w.commit("csv only")
	w.write("README", "elsewhere\n")
	w.commit("elsewhere")
	w.git("checkout", "-q", "-b", "side")
	w.write("ws/tune.fettle", "1\n2\n3\n4\n5 side\n")
	w.commit("side")
	w.git("checkout", "-q", "main")
	w.write("ws/tune.fettle", "1 main\n2\n3\n4\n5\n")
	w.commit("main")
	w.now += 60
	w.git("merge", "-q", "-m", "merge side", "side")
	w.git("checkout", "-q", "-b", "dropped", "HEAD~1")
	w.write("ws/tune.fettle", "dropped\n")
	w.commit("dropped")
	w.git("checkout", "-q", "main")
	w.git("merge", "-q", "-s", "ours", "-m", "merge and drop", "dropped")
	w.env = []string{"GIT_COMMITTER_DATE=1600000000 +0000"} // a clock that went wrong changes no order
	w.write("ws/tune.fettle", "1 main\n2 late\n3\n4\n5 side\n")
	w.commit("late")
	r := w.open("ws")
	for _, c := range []struct {
		paths []string
		most  int
		want  []string
	}{
		{[]string{"tune.fettle"}, 0, []string{"late", "merge side", "side", "main", "base"}},
		{[]string{"tune.fettle"}, 2, []string{"late", "merge side"}},
		{[]string{"ab.csv"}, 0, []string{"csv only", "base"}},
		{[]string{"a*.csv"}, 0, []string{"base"}}, // no pattern
		{[]string{"ab.csv", "tune.fettle"}, 0, []string{"late", "merge side", "side", "main", "csv only", "base"}},
		{nil, 0, []string{"late", "merge side", "side", "main", "csv only", "base"}},
		{[]string{"nothing.csv"}, 0, nil},
		{[]string{"--all"}, 0, nil},
	} {
		got, err := r.History(c.paths, c.most)
		if d := cmp.Diff(c.want, subjects(got)); d != "" || err != nil {
			t.Errorf("%q: %v\n%s", c.paths, err, d)
		}
	}
	list, err := r.History([]string{"tune.fettle"}, 0)
	if err != nil {
		t.Fatal(err)
	}
	merge := list[1]
	if len(merge.Parents) != 2 || merge.Parents[0] != list[3].Hash || merge.Parents[1] != list[2].Hash {
		t.Errorf("%+v", merge)
	}
	for i, want := range [][]int{{1}, {3, 2}, {4}, {4}, nil} {
		var before []string
		for _, k := range want {
			before = append(before, list[k].Hash)
		}
		if d := cmp.Diff(before, list[i].Before, cmpopts.EquateEmpty()); d != "" {
			t.Errorf("%s comes from other commits:\n%s", list[i].Subject, d)
		}
	}
	if list[0].Author != "Ann Driver" || !strings.HasPrefix(list[0].Date, "2023-11-14T") || list[0].Cut {
		t.Errorf("%+v", list[0])
	}
}

func TestMergeBase(t *testing.T) {
	w := newWorld(t)
	w.write("tune.fettle", "1\n")
	base := w.commit("base")
	w.git("checkout", "-q", "-b", "side")
	w.commit("side")
	w.git("checkout", "-q", "main")
	w.commit("main")
	w.git("checkout", "-q", "--orphan", "alone")
	w.commit("alone")
	r := w.open(".")
	if c, err := r.MergeBase(at(t, r, "main"), at(t, r, "side")); err != nil || c.Hash != base {
		t.Errorf("%+v %v", c, err)
	}
	if _, err := r.MergeBase(at(t, r, "main"), at(t, r, "alone")); !errors.Is(err, ErrNoMergeBase) {
		t.Error(err)
	}
	if _, err := r.MergeBase(Commit{}, at(t, r, "main")); !errors.Is(err, ErrNoMergeBase) {
		t.Error(err)
	}
}

func TestAuthor(t *testing.T) {
	for _, c := range []struct{ in, name, date string }{
		{"A B <a@b> 0 +0000", "A B", "1970-01-01T00:00:00Z"},
		{"A <a> b <c@d> 1700000000 -0330", "A", "2023-11-14T18:43:20-03:30"},
		{"<> 1 +1400", "", "1970-01-01T14:00:01+14:00"},
		{"A <a@b> 99999999999999 +0000", "A", ""},
		{"A <a@b> -5 +0000", "A", ""},
		{"A <a@b>", "A", ""},
		{"nobody", "nobody", ""},
	} {
		if name, date := author(c.in); name != c.name || date != c.date {
			t.Errorf("%q: %q %q", c.in, name, date)
		}
	}
	for _, c := range []struct{ in, encoding, want string }{
		{"M\xfcller", "ISO-8859-1", "Müller"}, {"Müller", "ISO-8859-1", "Müller"}, {"M\xfcller", "", "M\xfcller"},
	} {
		if got := utf8Of(c.in, c.encoding); got != c.want {
			t.Errorf("%q: %q", c.in, got)
		}
	}
}
