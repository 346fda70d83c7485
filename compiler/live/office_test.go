package live

import (
	"archive/zip"
	"bytes"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"testing"
	"testing/fstest"

	"fettle/compiler"
	"fettle/compiler/emit"
	"fettle/compiler/workbook"
)

// cached is the value that a formula's cell is shown with.
var cached = regexp.MustCompile(`(</f>)<v>[^<]*</v>`)

// bare takes every formula's value out of a workbook, so that whatever comes
// back was computed by whoever read it.
func bare(t *testing.T, data []byte) []byte {
	t.Helper()
	in, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	taken := 0
	for _, f := range in.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		part, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		taken += len(cached.FindAll(part, -1))
		to, err := w.Create(f.Name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := to.Write(cached.ReplaceAll(part, []byte("$1"))); err != nil {
			t.Fatal(err)
		}
	}
	if taken == 0 {
		t.Fatal("no value was taken out")
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// recalculated gives workbooks back as LibreOffice saves them.
func recalculated(t *testing.T, books map[string][]byte) map[string][]byte {
	t.Helper()
	office, err := exec.LookPath("soffice")
	if err != nil {
		t.Skip("LibreOffice isn't here, so live workbooks can't be recalculated: install libreoffice-calc to run this test")
	}
	dir := t.TempDir()
	out := filepath.Join(dir, "out")
	args := []string{"-env:UserInstallation=file://" + filepath.Join(dir, "profile"), "--headless", "--convert-to", "xlsx", "--outdir", out}
	for name, data := range books {
		file := filepath.Join(dir, name+".xlsx")
		if err := os.WriteFile(file, bare(t, data), 0o666); err != nil {
			t.Fatal(err)
		}
		args = append(args, file)
	}
	if text, err := exec.Command(office, args...).CombinedOutput(); err != nil {
		t.Fatalf("soffice: %v\n%s", err, text)
	}
	got := map[string][]byte{}
	for name := range books {
		data, err := os.ReadFile(filepath.Join(out, name+".xlsx"))
		if err != nil {
			t.Fatal(err)
		}
		got[name] = data
	}
	return got
}

// LibreOffice, given no value at all, comes to the compiled values in every cell
// of every map, and every cell of its sheet of checks is zero.
func TestLibreOfficeAgrees(t *testing.T) {
	if testing.Short() {
		t.Skip("starts LibreOffice")
	}
	contents, books := map[string]*emit.Content{}, map[string][]byte{}
	add := func(key string, c *emit.Content) {
		contents[key] = c
		books[key], _ = pages(t, c)
	}
	w := example(t, "tussock")
	for _, name := range []string{"highmeadow_june", "rimside_rain", "frosty_morning", "season/short-club-local91-1640m"} {
		tune := w.Plan.Find(name)
		if tune == nil {
			t.Fatalf("no tune %s", name)
		}
		add("tussock-"+filepath.Base(name), content(t, w, tune))
	}
	for _, name := range []string{"first", "lantern", "sizing"} {
		w := example(t, name)
		add(name, content(t, w, w.Plan.Tunes[len(w.Plan.Tunes)-1]))
	}
	w = open(t, fstest.MapFS{"tune.fettle": {Data: []byte(everything)}})
	for _, tune := range w.Plan.Tunes {
		add("everything-"+tune.Name, content(t, w, tune))
	}
	cases, err := filepath.Glob("../../testdata/independent/cases/*/tune.fettle")
	if err != nil || len(cases) < 10 {
		t.Fatalf("%d cases, %v", len(cases), err)
	}
	for _, dir := range cases {
		w := open(t, os.DirFS(filepath.Dir(dir)))
		tune := w.Plan.Tunes[len(w.Plan.Tunes)-1]
		if w.Tune(tune, compiler.RunOptions{}).Result.Fault == nil {
			add("case-"+filepath.Base(filepath.Dir(dir)), content(t, w, tune))
		}
	}
	for key, data := range recalculated(t, books) {
		t.Run(key, func(t *testing.T) {
			read, err := workbook.Read(data)
			if err != nil {
				t.Fatal(err)
			}
			sheets := map[string]workbook.Page{}
			for _, p := range read {
				sheets[p.Name] = p
			}
			holds(t, contents[key], sheets)
		})
	}
}
