package emit

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// lines is a format of two files: a line for each table, and how many there are.
var lines = Format{Name: "lines", Files: func(c *Content) ([]File, error) {
	var b strings.Builder
	for i := range c.Tables {
		b.WriteString(c.Tables[i].Name + " " + c.Tables[i].Text(c.Tables[i].Cells[0]) + "\n")
	}
	return []File{{"lines.txt", []byte(b.String())}, {"about.txt", []byte(c.About.Name + "\n")}}, nil
}}

// buildAs builds the tunes that match in some formats.
func (w *work) buildAs(dir, pattern string, formats ...Format) error {
	f, err := NewFolder(dir, "", pattern != "*")
	if err != nil {
		return err
	}
	for _, in := range w.inputs(1, pattern) {
		in.Formats = formats
		if err := f.Add(in); err != nil {
			return err
		}
	}
	_, err = f.Close(nil)
	return err
}

func mustBuildAs(t *testing.T, w *work, dir, pattern string, formats ...Format) {
	t.Helper()
	if err := w.buildAs(dir, pattern, formats...); err != nil {
		t.Fatal(err)
	}
}

// What is asked for is what is written; the manifest lists every file with its
// digest, keeps to its schema, and reads back.
func TestFormats(t *testing.T) {
	w, dir := example(t, "first"), filepath.Join(t.TempDir(), "out")
	csv := Format{Name: CSVFormat}
	for _, c := range []struct {
		formats []Format
		want    []string
	}{
		{nil, []string{"fuel.csv", "tune.json"}},
		{[]Format{csv}, []string{"fuel.csv", "tune.json"}},
		{[]Format{lines, csv}, []string{"about.txt", "fuel.csv", "lines.txt", "tune.json"}},
		{[]Format{lines}, []string{"about.txt", "lines.txt", "tune.json"}},
	} {
		mustBuildAs(t, w, dir, "*", c.formats...)
		files := tree(t, filepath.Join(dir, "hill"))
		if got := sortedKeys(files); !slices.Equal(got, c.want) {
			t.Errorf("%v, want %v", got, c.want)
		}
		if err := validate(compileSchema(t, TuneSchema), files["tune.json"]); err != nil {
			t.Error(err)
		}
		for name, text := range files {
			if name != "tune.json" && !strings.Contains(files["tune.json"], sum([]byte(text))) {
				t.Errorf("the manifest lacks the digest of %s", name)
			}
		}
		b, err := ReadTune(os.DirFS(dir), "hill")
		if slices.Contains(c.want, "fuel.csv") {
			if err != nil || len(b.Tables) != 1 || len(b.Files) != len(c.want)-2 {
				t.Errorf("%+v, %v", b, err)
			}
		} else if err == nil || !strings.Contains(err.Error(), "was built without CSV tables") {
			t.Errorf("%v", err)
		}
	}
}

// A format sees what is written: rounded values.
func TestFormatsSeeRoundedValues(t *testing.T) {
	w, dir := example(t, "first"), filepath.Join(t.TempDir(), "out")
	mustBuildAs(t, w, dir, "*", lines, Format{Name: CSVFormat})
	files := tree(t, filepath.Join(dir, "hill"))
	_, cells, _ := strings.Cut(files["fuel.csv"], "\n0,")
	cell, _, _ := strings.Cut(cells, ",")
	if want := "fuel " + cell + "\n"; files["lines.txt"] != want {
		t.Errorf("%q, want %q", files["lines.txt"], want)
	}
}

// The files of every format are kept with their tune, and guarded as tables are:
// a changed one isn't vouched for, and one that no build wrote isn't lost.
func TestFormatsAreKept(t *testing.T) {
	w, dir := example(t, "first"), filepath.Join(t.TempDir(), "out")
	mustBuildAs(t, w, dir, "*", lines)
	before := tree(t, dir)
	mustBuildAs(t, w, dir, "home", Format{Name: CSVFormat})
	after := tree(t, dir)
	for _, name := range []string{"hill/lines.txt", "hill/about.txt", "hill/tune.json"} {
		if after[name] != before[name] {
			t.Errorf("%s wasn't kept", name)
		}
	}
	if _, ok := after["home/lines.txt"]; ok {
		t.Error("home/lines.txt is left from before")
	}
	if err := os.WriteFile(filepath.Join(dir, "hill", "lines.txt"), []byte("fuel 99\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	if err := w.buildAs(dir, "home"); err == nil || !strings.Contains(err.Error(), "was changed after it was built") {
		t.Errorf("%v", err)
	}
	if err := os.WriteFile(filepath.Join(dir, "home", "lines.txt"), []byte("mine\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	if err := w.buildAs(dir, "*"); err == nil || !strings.Contains(err.Error(), "is not of a build") {
		t.Errorf("%v", err)
	}
}

// A format that can't be written ends the build, and the old output stands.
func TestFormatFails(t *testing.T) {
	w, dir := example(t, "first"), filepath.Join(t.TempDir(), "out")
	mustBuildAs(t, w, dir, "*")
	before := tree(t, dir)
	broken := Format{Name: "broken", Files: func(*Content) ([]File, error) { return nil, errors.New("no ink") }}
	err := w.buildAs(dir, "*", broken)
	if err == nil || !strings.Contains(err.Error(), "can't be written as broken: no ink") {
		t.Errorf("%v", err)
	}
	if after := tree(t, dir); after["index.json"] != before["index.json"] || len(after) != len(before) {
		t.Error("the old output is gone")
	}
}
