package emit

import (
	"flag"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"golang.org/x/tools/txtar"
)

var update = flag.Bool("update", false, "rewrite testdata/shed.txtar")

// TestWhatIsWritten compares what a build of testdata/shed writes (the index and
// one tune), and everything that is said of its tunes, with testdata/shed.txtar.
func TestWhatIsWritten(t *testing.T) {
	w := data(t, "shed")
	dir := filepath.Join(t.TempDir(), "out")
	w.mustBuild(dir, "*")
	ar := &txtar.Archive{Comment: []byte("What a build of testdata/shed writes, and what is said of its tunes. Rewritten by -update.\n")}
	add := func(name, text string) { ar.Files = append(ar.Files, txtar.File{Name: name, Data: []byte(text)}) }
	var reasons, warnings strings.Builder
	for _, in := range w.inputs(1, "*") {
		for _, r := range Reasons(in) {
			reasons.WriteString(r + "\n")
		}
		for _, r := range Warnings(in) {
			warnings.WriteString(in.Tune.Name + ": " + r.Text + "\n")
		}
	}
	add("reasons", reasons.String())
	add("warnings", warnings.String())
	files := tree(t, dir)
	for _, name := range sortedKeys(files) {
		if name == indexFile || strings.HasPrefix(name, "sharp/") {
			add(name, files[name])
		}
	}
	golden := filepath.Join("testdata", "shed.txtar")
	got := txtar.Format(ar)
	if *update {
		if err := os.WriteFile(golden, got, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), string(got)); diff != "" {
		t.Errorf("(-want +got)\n%s", diff)
	}
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// A tune is written exactly if there is no reason against it.
func TestReasonsAgreeWithFails(t *testing.T) {
	failing := 0
	for _, w := range []*work{data(t, "shed"), example(t, "first"), example(t, "lantern")} {
		for _, in := range w.inputs(2, "*") {
			reasons := Reasons(in)
			if (len(reasons) > 0) != in.Fails() {
				t.Errorf("%s: fails is %v, reasons %q", in.Tune.Name, in.Fails(), reasons)
			}
			if in.Fails() {
				failing++
			}
			for _, r := range reasons {
				if !strings.HasPrefix(r, in.Tune.Name+": ") || strings.ContainsAny(r, "\n\r") {
					t.Errorf("%s: a reason isn't a line of its tune: %q", in.Tune.Name, r)
				}
			}
		}
	}
	if failing != 6 {
		t.Errorf("%d tunes fail, and those of testdata/shed are 6", failing)
	}
}

// A tune that couldn't be computed has neither tables nor a manifest.
func TestFaultHasNoTables(t *testing.T) {
	in := data(t, "shed").input("moon")
	if _, err := Tables(in); err == nil || !strings.Contains(err.Error(), "outside its range of validity") {
		t.Errorf("tables: %v", err)
	}
	if _, err := Manifest(in, nil); err == nil {
		t.Error("there is a manifest")
	}
}

func TestManifestWantsEveryTable(t *testing.T) {
	in := data(t, "shed").input("sharp")
	tables, err := Tables(in)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Manifest(in, tables[1:]); err == nil || !strings.Contains(err.Error(), "fuel is missing") {
		t.Errorf("%v", err)
	}
}

// The worst reason comes first, whatever the order of the source.
func TestWorstFirst(t *testing.T) {
	w := text(t, `axis rpm [rpm] 1000..9000
map fuel [mg] {
  rpm | 2000 4000
      | 10   20
}
limit little:  fuel <= 19 mg
limit unsized: fuel == 10 mg or fuel < 5 mg
limit much:    fuel <= 10 mg
variant a { }
check "no" with a { fuel(2000 rpm) == 11 mg }
`)
	var got []string
	for _, r := range Reasons(w.input("a")) {
		for _, name := range []string{"little", "unsized", "much", "check"} {
			if strings.Contains(r, name) {
				got = append(got, name)
			}
		}
	}
	if want := []string{"much", "little", "unsized", "check"}; !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
}

// A breach too small for six digits is printed with those that it takes.
func TestSmallBreachIsSeen(t *testing.T) {
	w := text(t, `axis rpm [rpm] 1000..9000
map fuel [mg] {
  rpm | 2000 4000
      | 10   85.0000017
}
limit most: fuel <= 85 mg
variant a { }
`)
	got := Reasons(w.input("a"))
	want := []string{"a: fuel is 85.0000017 mg at rpm 4000, 0.0000017 mg past the 85 mg of limit most; 1 of 2 cells; the base is past it before any rule"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// A temperature's margin is a difference: in K where the map is in degC.
func TestMarginOfPoints(t *testing.T) {
	w := text(t, `axis rpm [rpm] 1000..9000
map seat [degC] {
  rpm | 2000 4000
      | 200  260
}
limit hot: seat <= 250 degC
variant a { }
`)
	got := Reasons(w.input("a"))
	want := []string{"a: seat is 260 degC at rpm 4000, 10 K past the 250 degC of limit hot; 1 of 2 cells; the base is past it before any rule"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestCautionsEndWithTheStanding(t *testing.T) {
	w := data(t, "shed")
	got := Cautions(w.prog)
	if len(got) != len(w.prog.Cautions)+len(Standing) || got[0] != w.prog.Cautions[0] || got[len(got)-1] != Standing[len(Standing)-1] {
		t.Errorf("%q", got)
	}
	all := strings.Join(Standing, "\n")
	for _, word := range []string{"wide-band", "carbon monoxide", "dynamometer", "knock", "emissions", "local codes", "qualified", "data sheet"} {
		if !strings.Contains(all, word) {
			t.Errorf("no standing caution speaks of %q", word)
		}
	}
}
