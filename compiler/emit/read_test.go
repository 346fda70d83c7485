package emit

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"
)

// Tables read back are those that were computed, to the resolution; and what is
// read back writes itself to the same bytes.
func TestReadBack(t *testing.T) {
	stored := 0
	defer func() {
		if stored < 10 {
			t.Errorf("only %d tables of targets were read", stored)
		}
	}()
	for name, w := range map[string]*work{"first": example(t, "first"), "lantern": example(t, "lantern"), "shed": data(t, "shed")} {
		dir := filepath.Join(t.TempDir(), "out")
		w.mustBuild(dir, "*")
		fsys := os.DirFS(dir)
		x, err := ReadIndex(fsys)
		if err != nil {
			t.Fatal(err)
		}
		again, err := Encode(x)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(tree(t, dir)[indexFile], string(again)); diff != "" {
			t.Errorf("%s: %s", name, diff)
		}
		for _, e := range x.Tunes {
			if e.Status != Written {
				continue
			}
			b, err := ReadTune(fsys, e.Name)
			if err != nil {
				t.Fatal(err)
			}
			again, err := Encode(&b.Tune)
			if err != nil {
				t.Fatal(err)
			}
			if want, err := fs.ReadFile(fsys, e.Name+"/"+tuneFile); err != nil || string(want) != string(again) {
				t.Errorf("%s: %s: %v\n%s", name, e.Name, err, cmp.Diff(string(want), string(again)))
			}
			if len(b.Changed) > 0 || len(b.Tables) != len(w.prog.Maps) {
				t.Errorf("%s: %s: %d tables, changed: %v", name, e.Name, len(b.Tables), b.Changed)
			}
			in := w.input(e.Name)
			for i, m := range w.prog.Maps {
				want := in.Result.Maps[i]
				cells := make([]float64, len(want.Cells))
				for k, x := range want.Cells {
					cells[k] = m.Res.Round(x)
				}
				got := b.Tables[i]
				if !slices.Equal(got.Cells, cells) || !slices.Equal(got.Rows, want.Rows) || !slices.Equal(got.Cols, want.Cols) {
					t.Errorf("%s: %s: %s isn't what was computed", name, e.Name, m.Name)
				}
			}
			for i, o := range in.Targets {
				want := o.Written()
				if len(b.Stored[i]) != len(want) {
					t.Fatalf("%s: %s: %d tables for %s, want %d", name, e.Name, len(b.Stored[i]), o.Target.Name, len(want))
				}
				for k, one := range want {
					stored++
					got := b.Stored[i][k]
					if !slices.Equal(got.Cells, one.Cells) || !slices.Equal(got.Rows, one.Rows.Points) || !slices.Equal(got.Cols, one.Cols.Points) {
						t.Errorf("%s: %s: table %s isn't what was computed: %v, %v", name, e.Name, one.Name, got, one)
					}
				}
			}
		}
	}
}

// built is a build of the shed as a file system in memory that may be changed.
func built(t *testing.T) fstest.MapFS {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "out")
	data(t, "shed").mustBuild(dir, "*")
	out := fstest.MapFS{}
	for name, text := range tree(t, dir) {
		out[name] = &fstest.MapFile{Data: []byte(text)}
	}
	return out
}

func TestReadTuneNoticesAnEdit(t *testing.T) {
	fsys := built(t)
	f := fsys["sharp/fuel.csv"]
	f.Data = []byte(strings.Replace(string(f.Data), "12.87", "13.01", 1))
	b, err := ReadTune(fsys, "sharp")
	if err != nil {
		t.Fatal(err)
	}
	light := fsys["sharp/dash/light.csv"]
	light.Data = []byte(strings.Replace(string(light.Data), ",10,", ",11,", 1))
	if again, err := ReadTune(fsys, "sharp"); err != nil || !slices.Equal(again.Changed, []string{"fuel.csv", "dash/light.csv"}) {
		t.Errorf("changed %v: %v", again.Changed, err)
	}
	if !slices.Equal(b.Changed, []string{"fuel.csv"}) || !slices.Contains(b.Tables[0].Cells, 13.01) {
		t.Errorf("changed %v, cells %v", b.Changed, b.Tables[0].Cells)
	}
}

func TestReadRefuses(t *testing.T) {
	for _, c := range []struct {
		name, file, old, new, want string
	}{
		{"a blank", "sharp/fuel.csv", "12.87", "", "sharp/fuel.csv, line 4: a cell is empty"},
		{"a decimal comma", "sharp/fuel.csv", "12.87", `"12,87"`, "line 4: a decimal comma"},
		{"another axis", "sharp/fuel.csv", "rpm [rpm]", "revs [rpm]", "other axes"},
		{"another breakpoint", "sharp/fuel.csv", "5000", "5001", "other axes"},
		{"a file elsewhere", "sharp/tune.json", `"file": "fuel.csv"`, `"file": "../fuel.csv"`, "no file beside it"},
		{"a file elsewhere for a target", "sharp/tune.json", `"folder": "dash"`, `"folder": ".."`, "is none beside it"},
		{"a table elsewhere for a target", "sharp/tune.json", `"file": "light.csv"`, `"file": "x/light.csv"`, "no file beside it"},
		{"a blank in a stored table", "sharp/dash/light.csv", ",23", ",", "sharp/dash/light.csv, line 3: a cell is empty"},
		{"another breakpoint of a stored table", "sharp/dash/light.csv", "2000", "2001", "other axes"},
		{"a newer version", "sharp/tune.json", "fettle/tune/1", "fettle/tune/2", `version "fettle/tune/2"`},
		{"something else", "sharp/tune.json", "fettle/tune/1", "other/tune/1", "isn't what a build writes"},
		{"an unknown key", "sharp/tune.json", `"compiler"`, `"compilers"`, "isn't what a build writes"},
		{"half a file", "sharp/tune.json", "\n  \"compiler\"", "\x00", "isn't what a build writes"},
		{"a name that leads out", "index.json", `"name": "sharp"`, `"name": "../sharp"`, "lists a tune of the name"},
	} {
		fsys := built(t)
		f := fsys[c.file]
		changed := strings.Replace(string(f.Data), c.old, c.new, 1)
		if changed == string(f.Data) {
			t.Fatalf("%s: there is no %q in %s", c.name, c.old, c.file)
		}
		f.Data = []byte(changed)
		_, err := ReadIndex(fsys)
		if c.file != indexFile {
			_, err = ReadTune(fsys, "sharp")
		}
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
	fsys := built(t)
	delete(fsys, "sharp/fuel.csv")
	if _, err := ReadTune(fsys, "sharp"); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a missing table: %v", err)
	}
}

// FuzzReadTune reads any bytes as a manifest without falling over.
func FuzzReadTune(f *testing.F) {
	f.Add([]byte(`{"schema": "fettle/tune/1"}`), []byte("rpm,1\n,2\n"))
	f.Add([]byte(`{"schema": "fettle/tune/1", "maps": [{"file": "t.csv", "axes": [{"name": "rpm", "breakpoints": [1]}]}]}`), []byte("rpm,1\n,2\n"))
	f.Fuzz(func(t *testing.T, manifest, table []byte) {
		fsys := fstest.MapFS{tuneFile: {Data: manifest}, "t.csv": {Data: table}, indexFile: {Data: manifest}}
		if b, err := ReadTune(fsys, "."); err == nil && len(b.Tables) != len(b.Maps) {
			t.Errorf("%d tables of %d maps", len(b.Tables), len(b.Maps))
		}
		_, _ = ReadIndex(fsys)
	})
}
