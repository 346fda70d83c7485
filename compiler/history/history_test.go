package history

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"

	"fettle/compiler"
	"fettle/compiler/eval"
)

// random is a workspace with some numbers drawn; breakpoints and rules come and
// go.
func random(r *rand.Rand) string {
	points, cells := "4000 8000 12000", fmt.Sprintf("9.%d %d.%d 10", r.IntN(3), 11+r.IntN(2), r.IntN(3))
	if r.IntN(2) == 0 {
		points, cells = "4000 6000 8000 12000", cells[:3]+" 10."+strconv.Itoa(r.IntN(10))+cells[3:]
	}
	text := fmt.Sprintf("axis rpm [rpm] 1000..14000\ngiven hill [m] = %d\ncatalog fuels { name | k\n pump | 1.0%d }\ngiven blend from fuels = pump\n", r.IntN(2)*500, r.IntN(3))
	text += "map fuel [mg] to 0.01 { rpm | " + points + "\n | " + cells + " }\n"
	if r.IntN(3) > 0 {
		text += fmt.Sprintf("rule thin { fuel -= %d %% * (hill / 1000 m) }\n", 5+r.IntN(3))
	}
	if r.IntN(3) > 0 {
		text += fmt.Sprintf("rule heavy { fuel *= blend.k over rpm %d000.. }\n", 5+r.IntN(3))
	}
	if r.IntN(4) == 0 {
		text += "limit most: fuel <= 11.5 mg else clamp\n"
	}
	return text + "variant bench { }\n"
}

// plainly computes the cell of a source.
func plainly(t *testing.T, text string, rpm float64) float64 {
	t.Helper()
	w := compiler.Open(fstest.MapFS{"tune.fettle": {Data: []byte(text)}})
	if w.Diags.HasErrors() {
		t.Fatalf("%v\n%s", w.Diags.Sorted()[0].Message, text)
	}
	res := w.Eval().Tune(eval.Pure(w.Program, w.Plan.Find("bench")), eval.Options{Reference: true})
	return w.Program.Maps[0].Res.Round(res.Maps[0].Lookup(rpm))
}

// On one line of commits the history is the list of values without those that
// are like the one before, whatever was compiled when; and parts add up.
func TestAgainstAPlainWalk(t *testing.T) {
	for seed := range uint64(3) {
		r := rand.New(rand.NewPCG(seed, 1))
		w := newWorld(t)
		var texts []string
		for i := range 24 {
			text := random(r)
			switch {
			case i > 0 && r.IntN(4) == 0:
				w.commit("README.md", fmt.Sprint(i))
				continue
			case i > 2 && r.IntN(4) == 0:
				text = texts[r.IntN(len(texts))] // as it was once
			}
			texts = append(texts, text)
			w.commit("tune.fettle", "# "+strconv.Itoa(i)+"\n"+text)
		}
		for _, rpm := range []float64{8000, 7321} {
			var want, got []string
			last := math.NaN()
			for _, text := range texts {
				if v := plainly(t, text, rpm); v != last {
					want = append([]string{strconv.FormatFloat(v, 'f', 2, 64)}, want...)
					last = v
				}
			}
			l := w.ask("bench", "fuel", fmt.Sprint(rpm))
			for i, row := range l.Rows {
				got = append(got, row.After.Printed)
				if row.Kind == First {
					continue
				}
				if row.Before.Printed != l.Rows[i+1].After.Printed {
					t.Errorf("%s comes from %s, and not from %s", row.Commit.Subject, row.Before.Printed, l.Rows[i+1].After.Printed)
				}
				addsUp(t, row)
			}
			if d := cmp.Diff(want, got); d != "" {
				t.Errorf("seed %d at %v:\n%s", seed, rpm, d)
			}
		}
	}
}

func addsUp(t *testing.T, row *Row) {
	t.Helper()
	exact, printed := 0.0, 0.0
	for _, p := range row.Parts {
		exact += p.Exact
		printed += p.Change
	}
	if math.Abs(exact-(row.After.Value-row.Before.Value)) > 1e-9 {
		t.Errorf("%s: the parts come to %v, the change to %v", row.Commit.Subject, exact, row.After.Value-row.Before.Value)
	}
	if row.Change == nil || math.Abs(printed-*row.Change) > 1e-9 {
		t.Errorf("%s: the printed parts come to %v", row.Commit.Subject, printed)
	}
}

const small = "axis rpm [rpm] 1000..14000\nmap fuel [mg] to 0.01 { rpm | 4000 8000\n | 9 %s }\nvariant bench { }\n"

// A source whose texts were compiled isn't compiled again, whatever else there is
// in its folder.
func TestSameTextsAreCompiledOnce(t *testing.T) {
	w := newWorld(t)
	w.commit("tune.fettle", fmt.Sprintf(small, "11"))
	w.commit("a", "1")
	w.commit("tune.fettle", fmt.Sprintf(small, "12"))
	w.commit("b", "2")
	w.commit("c", "3")
	w.commit("tune.fettle", fmt.Sprintf(small, "11"))
	repo := w.open()
	list, err := repo.History(nil, 0)
	if err != nil || len(list) != 6 {
		t.Fatal(len(list), err)
	}
	l := newLoader(Question{Repo: repo, WorkTree: os.DirFS(w.dir)}, list)
	var got []*compiled
	for i := workTree; i < len(list); i++ {
		src, err := l.get(i)
		if err != nil {
			t.Fatal(err)
		}
		got = append(got, src)
	}
	for _, same := range [][2]int{{0, 1}, {2, 3}, {3, 4}, {0, 5}, {5, 6}} {
		if got[same[0]] != got[same[1]] {
			t.Errorf("%d and %d are compiled apart", same[0], same[1])
		}
	}
	if got[1] == got[2] {
		t.Error("two sources are taken for one")
	}
}

func TestNothingToTell(t *testing.T) {
	w := newWorld(t)
	w.commit("tune.fettle", fmt.Sprintf(small, "11"))
	ask := func(tune, mapName string, at ...string) error {
		_, err := Of(Question{Repo: w.open(), WorkTree: os.DirFS(w.dir), Tune: tune, Map: mapName, At: at})
		return err
	}
	for _, c := range []struct {
		err  error
		want string
	}{
		{ask("bensh", "fuel", "4000"), "did you mean bench?"},
		{ask("bench", "feul", "4000"), "did you mean fuel?"},
		{ask("bench", "fuel"), "rpm is missing"},
		{ask("bench", "fuel", "4000 kg"), "the place can't be read"},
	} {
		if c.err == nil || !strings.Contains(c.err.Error(), c.want) {
			t.Errorf("%v, where %q is wanted", c.err, c.want)
		}
	}
	w.write("tune.fettle", "lett x = 5\n")
	if err := ask("bench", "fuel", "4000"); err != nil {
		t.Errorf("a broken work tree hides what was committed: %v", err)
	}
	w.commit("tune.fettle", "lett x = 5\n")
	var f *Faults
	w2 := newWorld(t)
	w2.commit("tune.fettle", "lett x = 5\n")
	if _, err := Of(Question{Repo: w2.open(), WorkTree: os.DirFS(w2.dir), Tune: "bench", Map: "fuel"}); !errors.As(err, &f) || !f.Diags.HasErrors() {
		t.Errorf("%v", err)
	}
}

// A long row of broken commits, with branches among them, ends.
func TestBrokenBranches(t *testing.T) {
	w := newWorld(t)
	w.commit("tune.fettle", fmt.Sprintf(small, "11"))
	for i := range 6 {
		w.git("checkout", "-q", "-b", fmt.Sprint("side", i))
		w.commit("a", fmt.Sprint(i))
		w.git("checkout", "-q", "main")
		w.commit("tune.fettle", fmt.Sprintf("lett x = %d\n", i))
		w.git("merge", "-q", "-m", fmt.Sprint("merge ", i), fmt.Sprint("side", i))
	}
	w.commit("tune.fettle", fmt.Sprintf(small, "12"))
	l := w.ask("bench", "fuel", "8000")
	var kinds []string
	for _, r := range l.Rows {
		if n := len(kinds); n == 0 || kinds[n-1] != r.Kind {
			kinds = append(kinds, r.Kind)
		}
	}
	if d := cmp.Diff([]string{Changed, Broken, First}, kinds); d != "" {
		t.Error(d)
	}
	if r := l.Rows[0]; r.Since != l.Rows[len(l.Rows)-1].Commit.Hash || len(r.Over) == 0 {
		t.Errorf("%+v", r)
	}
}

// A tune that one branch renamed and the other changed is followed to the one
// that changed it.
func TestRenamedOnOneBranch(t *testing.T) {
	w := newWorld(t)
	w.commit("tune.fettle", "use \"fuel.fettle\"\nvariant bench { }\n")
	w.commit("fuel.fettle", strings.Replace(fmt.Sprintf(small, "11"), "variant bench { }\n", "", 1))
	w.git("checkout", "-q", "-b", "side")
	w.commit("fuel.fettle", strings.Replace(fmt.Sprintf(small, "12"), "variant bench { }\n", "", 1))
	w.git("checkout", "-q", "main")
	w.commit("tune.fettle", "use \"fuel.fettle\"\nvariant dyno { }\n")
	w.git("merge", "-q", "-m", "merge", "side")
	var got []string
	for _, r := range w.ask("dyno", "fuel", "8000").Rows {
		if r.After == nil { // the first commit uses a file that isn't there
			continue
		}
		got = append(got, r.Kind+" "+r.Commit.Subject+" "+r.After.Tune+" "+r.After.Printed)
	}
	want := []string{"renamed merge dyno 12.00", "change step 3 bench 12.00", "first step 2 bench 11.00"}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
}
