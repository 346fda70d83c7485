package compiler_test

import (
	"bytes"
	"flag"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"

	"golang.org/x/tools/txtar"

	"fettle/compiler"
	"fettle/lang/diag"
)

// Every mistake that the compiler knows stands in an archive of
// testdata/errors: a workspace, and the text that it is answered with. In the
// sources a comment beside a fault says what is expected there:
//
//	rpm > 9000 and   # ### "ends too soon"
//
// A quoted regular expression for each diagnostic that starts on this line.

var update = flag.Bool("update", false, "write want.txt of every archive, and the tables of the reference, anew")

const wantName = "want.txt"

// diagnose opens a workspace and, where it has no errors, runs every tune for
// the warnings that only a whole run can give.
func diagnose(files fstest.MapFS) []*diag.Diagnostic {
	w := compiler.Open(files)
	if w.Diags.HasErrors() {
		return w.Diags.Sorted()
	}
	survey := w.NewSurvey()
	w.Run(w.Plan.Tunes, compiler.RunOptions{Survey: true}, survey.Add)
	survey.Report(w.Diags)
	return w.Diags.Sorted()
}

func TestErrors(t *testing.T) {
	paths, err := filepath.Glob("../testdata/errors/*.txtar")
	if err != nil || len(paths) == 0 {
		t.Fatalf("no archives: %v", err)
	}
	met := map[string]bool{}
	for _, path := range paths {
		t.Run(strings.TrimSuffix(filepath.Base(path), ".txtar"), func(t *testing.T) {
			ar, err := txtar.ParseFile(path)
			if err != nil {
				t.Fatal(err)
			}
			files, want := fstest.MapFS{}, -1
			for i, f := range ar.Files {
				if f.Name == wantName {
					want = i
					continue
				}
				files[f.Name] = &fstest.MapFile{Data: f.Data}
			}
			items := diagnose(files)
			for _, d := range items {
				met[d.Code] = true
			}
			expectations(t, files, items)
			fixes(t, files, items)
			var got bytes.Buffer
			diag.Text(&got, items, diag.TextOptions{})
			if want < 0 {
				want = len(ar.Files)
				ar.Files = append(ar.Files, txtar.File{Name: wantName})
			}
			if bytes.Equal(got.Bytes(), ar.Files[want].Data) {
				return
			}
			if !*update {
				t.Errorf("got:\n%s\nwant:\n%s", got.Bytes(), ar.Files[want].Data)
				return
			}
			ar.Files[want].Data = got.Bytes()
			if err := os.WriteFile(path, txtar.Format(ar), 0o644); err != nil {
				t.Fatal(err)
			}
		})
	}
	for _, c := range diag.Codes() {
		if why, elsewhere := notInArchives[c.ID]; !met[c.ID] && !elsewhere {
			t.Errorf("no archive shows %s, %s", c.ID, c.Title)
		} else if met[c.ID] && elsewhere {
			t.Errorf("an archive shows %s, which is said to be impossible: %s", c.ID, why)
		}
	}
}

const inImporter = "a workspace doesn't import: see TestRefused in compiler/importer"

// notInArchives are the codes that no small workspace can show, and why.
var notInArchives = map[string]string{
	"E403": "only the standard library's own text can have it",
	"E901": inImporter, "E902": inImporter, "E903": inImporter, "E904": inImporter, "E905": inImporter,
	"E906": inImporter, "E907": inImporter, "E908": inImporter, "E909": inImporter, "E910": inImporter,
	"E603": "it takes a map of over a million cells: see TestTooManyCells",
}

var expectComment = regexp.MustCompile(`### (.*)$`)

// expectations holds the comments beside the faults against the diagnostics.
func expectations(t *testing.T, files fstest.MapFS, items []*diag.Diagnostic) {
	t.Helper()
	at := map[string][]*diag.Diagnostic{}
	for _, d := range items {
		if !d.Span.IsZero() {
			at[d.Span.String()] = append(at[d.Span.String()], d)
		}
	}
	for name, f := range files {
		for i, line := range strings.Split(string(f.Data), "\n") {
			m := expectComment.FindStringSubmatch(line)
			if m == nil {
				continue
			}
			place := fmt.Sprintf("%s:%d", name, i+1)
			for rest := strings.TrimSpace(m[1]); rest != ""; {
				quoted, err := strconv.QuotedPrefix(rest)
				if err != nil {
					t.Fatalf("%s: not a quoted text: %s", place, rest)
				}
				rest = strings.TrimSpace(rest[len(quoted):])
				text, _ := strconv.Unquote(quoted)
				re, err := regexp.Compile(text)
				if err != nil {
					t.Fatalf("%s: %v", place, err)
				}
				found := false
				for _, d := range at[place] {
					found = found || re.MatchString(d.Message)
				}
				if !found {
					t.Errorf("%s: nothing here says %s", place, quoted)
				}
			}
		}
	}
}

// fixes puts every exact fix in and looks that the fault it was offered for is
// gone; others that it hid may come to light.
func fixes(t *testing.T, files fstest.MapFS, items []*diag.Diagnostic) {
	t.Helper()
	for _, d := range items {
		if d.Fix == nil || d.Fix.Span.IsZero() {
			continue
		}
		s := d.Fix.Span
		if s.From < 0 || s.From > s.To || s.To > len(s.File.Text) || files[s.File.Name] == nil {
			t.Errorf("%s %s: the fix stands outside the workspace's files", d.Code, d.Span)
			continue
		}
		mended := maps.Clone(files)
		mended[s.File.Name] = &fstest.MapFile{Data: []byte(s.File.Text[:s.From] + d.Fix.Replace + s.File.Text[s.To:])}
		for _, o := range diagnose(mended) {
			if o.Code == d.Code && o.Message == d.Message && o.Span.String() == d.Span.String() && o.Span.From == d.Span.From {
				t.Errorf("%s %s: %s: %q in its place mends nothing", d.Code, d.Span, d.Message, d.Fix.Replace)
			}
		}
	}
}

func TestTooManyCells(t *testing.T) {
	var b strings.Builder
	b.WriteString("axis x 0..2000\naxis y 0..2000\nmap big {\n  y \\ x |")
	for i := range 1001 {
		fmt.Fprintf(&b, " %d", i)
	}
	row := strings.Repeat(" 1", 1001)
	for i := range 1000 {
		fmt.Fprintf(&b, "\n  %d |%s", i, row)
	}
	b.WriteString("\n}\nvariant bench { }\n")
	items := diagnose(fstest.MapFS{"tune.fettle": {Data: []byte(b.String())}})
	if len(items) != 1 || items[0].Code != "E603" || items[0].Span.String() != "tune.fettle:3" {
		t.Errorf("got %d diagnostics, the first %+v; want E603 at the map", len(items), items)
	}
}
