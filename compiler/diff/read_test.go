package diff

import (
	"os"
	"strings"
	"testing"
	"testing/fstest"

	"fettle/compiler/emit"
	"fettle/compiler/eval"
	"fettle/compiler/limit"
)

// build writes tunes of a workspace to a folder, as the compiler does.
func build(t *testing.T, w world, names ...string) string {
	t.Helper()
	dir := t.TempDir() + "/out"
	f, err := emit.NewFolder(dir, t.TempDir(), false)
	if err != nil {
		t.Fatal(err)
	}
	limits := limit.New(w.p)
	for _, n := range names {
		tune := w.plan.Find(n)
		res := w.p.Tune(eval.Pure(w.p.Check, tune), eval.Options{})
		in := emit.Input{Program: w.p.Check, Tune: tune, Result: res, Limits: limits.Tune(tune, res, false), Checks: limits.Checks(tune, res, false),
			Source: emit.Source{Digest: strings.Repeat("0", 64), Version: "test"}}
		if err := f.Add(in); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := f.Close(nil); err != nil {
		t.Fatal(err)
	}
	return dir
}

func fromFolder(t *testing.T, dir string) []*Side {
	t.Helper()
	sides, err := FromFolder(os.DirFS(dir))
	if err != nil {
		t.Fatal(err)
	}
	return sides
}

// Two tunes that were built compare as the two tunes do, to the bit and to the
// letter, but for what only a source can say.
func TestBuiltFoldersCompareAsTheirTunes(t *testing.T) {
	for _, c := range []struct{ example, old, new string }{
		{"first", "home", "frosty_hill"},
		{"lantern", "bench", "hot_climb"},
		{"lantern", "ridge/1000ft-e10-50degF", "ridge/8000ft-e85-95degF"},
		{"tussock", "season/stock-club-pump98-820m", "season/long-club-race102-40m"},
	} {
		w := example(t, c.example)
		out := build(t, w, c.old, c.new)
		old, new := fromFolder(t, out+"/"+c.old), fromFolder(t, out+"/"+c.new)
		got, want := Folders(old, new), w.diff(t, c.old, c.new)
		validates(t, got)
		for k, m := range want.Pairs[0].Maps {
			b := got.Pairs[0].Maps[k]
			if m.Map != b.Map || m.Unit != b.Unit || m.Total != b.Total || len(m.Cells) != len(b.Cells) || m.Summary != b.Summary {
				t.Fatalf("%s: %+v, want %+v", m.Map, b.Summary, m.Summary)
			}
			for i := range m.Cells {
				a, b := m.Cells[i], b.Cells[i]
				if a.Exact = b.Exact; a != b {
					t.Fatalf("%s: %+v, want %+v", m.Map, b, a)
				}
			}
		}
		var kept []string
		for _, l := range strings.SplitAfter(text(t, &Report{Pairs: want.Pairs}, TextOptions{Cells: true}), "\n") {
			if !strings.HasPrefix(l, "fettle why") && !strings.HasPrefix(l, "no effect") && !strings.HasPrefix(l, "            ") && !strings.HasPrefix(l, "  because") {
				if before, _, found := strings.Cut(l, "   by "); found && !strings.HasPrefix(l, " ") {
					l = strings.TrimRight(before, " ") + "\n" // the overview's last column
				}
				kept = append(kept, l)
			}
		}
		wantText := strings.TrimRight(strings.Join(kept, ""), "\n")
		if gotText := strings.TrimRight(text(t, got, TextOptions{Cells: true}), "\n"); gotText != wantText {
			t.Errorf("%s", Source("tunes", wantText, "folders", gotText))
		}
	}
}

const moving = `
axis rpm [rpm] 1000..10000
given a = 0
map fuel [mg] to 0.01 {
  rpm | 2000 4000
      |   10   20
}
map spark [deg] to 0.1 {
  rpm | 2000 4000
      |   10   20
}
rule r {
  fuel *= 1 + a / FACTOR
}
limit most: fuel <= 30 mg
variants many {
  a = 0, 1, 2, 5
}
variant still { }
`

func TestFolders(t *testing.T) {
	old := workspace(t, strings.Replace(moving, "FACTOR", "100", 1))
	new := workspace(t, strings.Replace(moving, "FACTOR", "9", 1)) // many/5 then breaks its limit
	a := fromFolder(t, build(t, old, "many/0", "many/1", "many/5"))
	b := fromFolder(t, build(t, new, "many/0", "many/1", "many/2", "many/5"))
	r := Folders(a, b)
	r.Old, r.New = "out", "out.new"
	validates(t, r)
	if len(r.Pairs) != 2 || r.Pairs[0].Differs() || !r.Pairs[1].Differs() {
		t.Errorf("%d pairs", len(r.Pairs))
	}
	golden(t, "folders.txt", text(t, r, TextOptions{}))
	same := Folders(a, a)
	if same.Differs() {
		t.Error("a folder differs from itself")
	}
	if got, want := text(t, same, TextOptions{}), "3 tunes are the same\n"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// A tune of the workspace beside what was built: a whole folder, a tune's
// folder of another name, and one table.
func TestTuneAgainstWhatWasBuilt(t *testing.T) {
	w := workspace(t, strings.Replace(moving, "FACTOR", "100", 1))
	out := build(t, w, "many/0", "many/1", "many/2")
	tune := func(name string) []*Side {
		s, err := FromTune(w.p, w.plan.Find(name))
		if err != nil {
			t.Fatal(err)
		}
		return []*Side{s}
	}
	csv, err := os.ReadFile(out + "/many/2/fuel.csv")
	if err != nil {
		t.Fatal(err)
	}
	file, err := FromCSV("fuel.csv", csv)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		what        string
		old, new    []*Side
		maps, cells int
	}{
		{"its own folder", tune("many/1"), fromFolder(t, out), 2, 0},
		{"turned round", fromFolder(t, out), tune("many/1"), 2, 0},
		{"another's folder", tune("many/1"), fromFolder(t, out+"/many/2"), 2, 2},
		{"its own table", tune("many/2"), []*Side{file}, 1, 0},
		{"another's table", []*Side{file}, tune("many/0"), 1, 2},
	} {
		r := Folders(c.old, c.new)
		validates(t, r)
		if len(r.Pairs) != 1 || len(r.OldOnly)+len(r.NewOnly) > 0 {
			t.Errorf("%s: %d pairs, %v, %v", c.what, len(r.Pairs), r.OldOnly, r.NewOnly)
			continue
		}
		p := r.Pairs[0]
		if len(p.Maps) != c.maps || len(p.Maps[0].Cells) != c.cells || len(p.OldOnly)+len(p.NewOnly) > 0 {
			t.Errorf("%s: %d maps, %d cells, %v, %v", c.what, len(p.Maps), len(p.Maps[0].Cells), p.OldOnly, p.NewOnly)
		}
	}
	// A folder that doesn't have the tune.
	r := Folders(tune("many/5"), fromFolder(t, out))
	if len(r.Pairs) != 0 || len(r.OldOnly) != 1 || len(r.NewOnly) != 0 || !r.Differs() {
		t.Errorf("%d pairs, %v, %v", len(r.Pairs), r.OldOnly, r.NewOnly)
	}
}

func TestFromCSV(t *testing.T) {
	read := func(name, text string) *Side {
		s, err := FromCSV(name, []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	a := read("base/fuel.csv", "throttle [%] \\ rpm [rpm],2000,4000\n0,1.10,1.20\n100,8.20,9.00\n")
	b := read("mine.csv", "throttle [%] \\ rpm [rpm],2000,4000\n0,1.10,1.25\n100,8.20,9.10\n")
	if a.Tables[0].Map != "fuel" || b.Tables[0].Map != "mine" {
		t.Errorf("maps %s and %s", a.Tables[0].Map, b.Tables[0].Map)
	}
	r := Tables(a, b)
	validates(t, r)
	golden(t, "csv.txt", text(t, r, TextOptions{}))

	if n := Tables(a, read("later/fuel.csv", "throttle [%] \\ rpm [rpm],2000\n0,1.10\n")).Pairs[0].Maps[0].Notes; strings.Contains(strings.Join(n, " "), "other names") {
		t.Errorf("tables of one name: %q", n)
	}

	blank := read("fuel.csv", "rpm,2000,3000,4000\n,10,,20\n")
	full := read("fuel.csv", "rpm,2000,3000,4000\n,10,15,20\n")
	r = Tables(blank, full)
	if r.Differs() || len(r.Pairs[0].Maps[0].Notes) != 1 {
		t.Errorf("a blank cell: %+v", r.Pairs[0].Maps[0])
	}

	for text, want := range map[string]string{
		"":                                   "x.csv: line 1, column 1: the file is empty",
		"rpm,2000,4000\n,1,\"2,5\"\n":        "a decimal comma",
		"a \\ b,1,2\n1,,\n2,,\n":             "line 2 has a blank cell with nothing to lean on",
		"rpm,1,2,3\n,x,y,z\n":                "(and 2 more faults)",
		"rpm;1;2\n;1;2\n":                    "semicolon",
		"throttle \\ rpm,4000,2000\n1,2,3\n": "don't ascend",
	} {
		if _, err := FromCSV("x.csv", []byte(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
}

func TestFromFolderRefuses(t *testing.T) {
	tune := `{"schema": "fettle/tune/1", "name": "x", "maps": [{"name": "fuel", "unit": "mg", "file": "FILE", "resolution": RES}]}`
	write := func(file, res string) string {
		return strings.NewReplacer("FILE", file, "RES", res).Replace(tune)
	}
	for want, files := range map[string]map[string]string{
		"no index.json, tune.json or CSV table":                         {"notes.txt": "x"},
		"tune.json isn't what build writes":                             {"tune.json": "{"},
		"tune.json is of the form `fettle/tune/2`, and `fettle/tune/1`": {"tune.json": `{"schema": "fettle/tune/2"}`},
		"index.json is of the form ``":                                  {"index.json": "{}"},
		"index.json: `../x` isn't a tune's name":                        {"index.json": `{"schema": "fettle/index/1", "tunes": [{"name": "../x"}]}`},
		"gone/tune.json can't be read":                                  {"index.json": `{"schema": "fettle/index/1", "tunes": [{"name": "gone"}]}`},
		"fuel.csv can't be read: file does not exist":                   {"tune.json": write("fuel.csv", "null")},
		"`../fuel.csv` isn't the name of a file beside it":              {"tune.json": write("../fuel.csv", "null")},
		"map `fuel`: ": {"tune.json": write("fuel.csv", "-1"), "fuel.csv": "rpm,1\n,2\n"},
		"fuel.csv: line 1, column 1: the file is empty": {"tune.json": write("fuel.csv", "1"), "fuel.csv": ""},
		"a.csv: line 1, column 1: the file is empty":    {"a.csv": ""},
	} {
		fsys := fstest.MapFS{}
		for name, text := range files {
			fsys[name] = &fstest.MapFile{Data: []byte(text)}
		}
		if _, err := FromFolder(fsys); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v: %v, want %q", files, err, want)
		}
	}
}

func TestFolderOfLooseTables(t *testing.T) {
	one := fstest.MapFS{"fuel.csv": {Data: []byte("rpm,1\n,2\n")}, "spark.csv": {Data: []byte("rpm,1\n,20\n")}}
	two := fstest.MapFS{"fuel.csv": {Data: []byte("rpm,1\n,3\n")}, "spark.csv": {Data: []byte("rpm,1\n,20\n")}}
	a, err := FromFolder(one)
	if err != nil {
		t.Fatal(err)
	}
	b, err := FromFolder(two)
	if err != nil {
		t.Fatal(err)
	}
	r := Folders(a, b)
	validates(t, r)
	if len(r.Pairs) != 1 || len(r.Pairs[0].Maps) != 2 || !r.Pairs[0].Maps[0].Differs() || r.Pairs[0].Maps[1].Differs() {
		t.Errorf("got %+v", r.Pairs)
	}
}
