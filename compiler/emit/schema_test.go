package emit

import (
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
)

// compileSchema compiles a published schema, and holds it to its own metaschema.
func compileSchema(t testing.TB, text string) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	id := doc.(map[string]any)["$id"].(string)
	if err := c.AddResource(id, doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile(id)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func validate(s *jsonschema.Schema, text string) error {
	v, err := jsonschema.UnmarshalJSON(strings.NewReader(text))
	if err != nil {
		return err
	}
	return s.Validate(v)
}

func TestOutputKeepsToTheSchemas(t *testing.T) {
	tune, index := compileSchema(t, TuneSchema), compileSchema(t, IndexSchema)
	for name, w := range map[string]*work{"first": example(t, "first"), "lantern": example(t, "lantern"), "shed": data(t, "shed")} {
		dir := filepath.Join(t.TempDir(), "out")
		w.mustBuild(dir, "*")
		w.mustBuild(dir, w.plan.Tunes[0].Name) // the others are kept
		tunes := 0
		for file, text := range tree(t, dir) {
			s := tune
			switch {
			case strings.HasSuffix(file, ".csv"):
				continue
			case file == indexFile:
				s = index
			default:
				tunes++
			}
			if err := validate(s, text); err != nil {
				t.Errorf("%s: %s: %v", name, file, err)
			}
		}
		if tunes == 0 {
			t.Errorf("%s: no tune was written", name)
		}
	}
}

// The manifest of a tune with failing limits isn't written by a build, but it is
// made all the same, for whoever asks.
func TestFailingManifestKeepsToTheSchema(t *testing.T) {
	w, s := data(t, "shed"), compileSchema(t, TuneSchema)
	for _, name := range []string{"rainy", "hill", "rich", "poor"} {
		in := w.input(name)
		tables, err := Tables(in)
		if err != nil {
			t.Fatal(err)
		}
		m, err := Manifest(in, tables)
		if err != nil {
			t.Fatal(err)
		}
		if err := validate(s, string(m)); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if name == "rainy" && !strings.Contains(string(m), `"by": "rule rain"`) {
			t.Errorf("%s: nobody is to blame", name)
		}
	}
}

// The schemas refuse what isn't of their version, or has a key too many or too few.
func TestSchemasRefuse(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "out")
	data(t, "shed").mustBuild(dir, "*")
	files := tree(t, dir)
	for _, c := range []struct{ file, schema string }{{indexFile, IndexSchema}, {"sharp/" + tuneFile, TuneSchema}} {
		s := compileSchema(t, c.schema)
		for what, change := range map[string]func(m map[string]any){
			"another version": func(m map[string]any) { m["schema"] = "fettle/other/1" },
			"a key too many":  func(m map[string]any) { m["more"] = 1 },
			"a key too few":   func(m map[string]any) { delete(m, "cautions") },
			"null for a list": func(m map[string]any) { m["cautions"] = nil },
		} {
			var m map[string]any
			if err := json.Unmarshal([]byte(files[c.file]), &m); err != nil {
				t.Fatal(err)
			}
			change(m)
			b, err := json.Marshal(m)
			if err != nil {
				t.Fatal(err)
			}
			if validate(s, string(b)) == nil {
				t.Errorf("%s with %s is accepted", c.file, what)
			}
		}
	}
}

// A limit that looks at a part of a map may look at no cell of a coarser table.
func TestLimitAtNoCellOfATable(t *testing.T) {
	w := text(t, `axis rpm [rpm] 1000..9000
map fuel [mg] {
  rpm | 3000 5000 7000
      |   10   14   12
}
limit middle: fuel <= 13 mg where rpm > 4000 and rpm < 6000 else warn
variant a { }
target coarse { table fuel = fuel as u8 step 0.1 mg at rpm 3000, 7000 }
`)
	dir := filepath.Join(t.TempDir(), "out")
	w.mustBuild(dir, "*")
	manifest := tree(t, dir)["a/tune.json"]
	if err := validate(compileSchema(t, TuneSchema), manifest); err != nil {
		t.Error(err)
	}
	var got Tune
	if err := json.Unmarshal([]byte(manifest), &got); err != nil {
		t.Fatal(err)
	}
	if l := got.Targets[0].Limits[0]; l.State != "not here" || l.Reason != "its `where` holds in no cell" || got.Limits[0].State != "warns" {
		t.Errorf("%+v, and of the map %+v", l, got.Limits[0])
	}
}
