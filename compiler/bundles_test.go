package compiler_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"fettle/compiler"
	"fettle/compiler/emit"
	"fettle/compiler/plan"
)

// What a build writes of a bundle is as its schema says, with the same files and
// digests as its tunes.
func TestBundleIsWritten(t *testing.T) {
	w := compiler.Open(os.DirFS("../examples/tussock"))
	if w.Diags.HasErrors() {
		t.Fatal(w.Diags.Sorted()[0])
	}
	opt := compiler.RunOptions{Targets: w.Program.Targets}
	dir := filepath.Join(t.TempDir(), "out")
	f, err := emit.NewFolder(dir, "", false)
	if err != nil {
		t.Fatal(err)
	}
	src := emit.Source{Digest: w.Digest(), Version: "test"}
	have := map[*plan.Tune]*compiler.Outcome{}
	for _, tune := range w.Plan.Bundles[0].Tunes {
		have[tune] = w.Tune(tune, opt)
		if err := f.Add(w.Input(have[tune], src)); err != nil {
			t.Fatal(err)
		}
	}
	bundles := w.Bundles(w.Plan.Bundles[0].Tunes, have, opt)
	if len(bundles) != 1 || bundles[0].Fails() {
		t.Fatalf("%d bundles", len(bundles))
	}
	if err := f.AddBundle(w.BundleInput(bundles[0], src, nil)); err != nil {
		t.Fatal(err)
	}
	if _, err := f.Close(nil); err != nil {
		t.Fatal(err)
	}
	valid(t, emit.BundleSchema, filepath.Join(dir, "bundles", "rain_or_shine", "bundle.json"))
	valid(t, emit.IndexSchema, filepath.Join(dir, "index.json"))
	b, err := emit.ReadBundle(os.DirFS(dir), "bundles/rain_or_shine")
	if err != nil {
		t.Fatal(err)
	}
	var index emit.Index
	text, err := os.ReadFile(filepath.Join(dir, "index.json"))
	if err != nil || json.Unmarshal(text, &index) != nil {
		t.Fatal(err)
	}
	for i, s := range b.Slots {
		if e := index.Tunes[i]; e.Name != s.Tune || *e.Digest != s.Digest {
			t.Errorf("slot %d is %s, and the index has %s", s.Slot, s.Tune, e.Name)
		}
		if len(s.Files) != len(w.Program.Targets[0].Tables) {
			t.Errorf("slot %d has %d files", s.Slot, len(s.Files))
		}
		for _, file := range s.Files {
			one, err := os.ReadFile(filepath.Join(dir, "bundles", "rain_or_shine", file.File))
			two, err2 := os.ReadFile(filepath.Join(dir, s.Tune, "shop_ecu", filepath.Base(file.File)))
			if err != nil || err2 != nil || string(one) != string(two) {
				t.Errorf("%s isn't what stands in %s", file.File, s.Tune)
			}
		}
	}
}

func valid(t *testing.T, schema, file string) {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(strings.NewReader(schema))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	id := doc.(map[string]any)["$id"].(string)
	if err := c.AddResource(id, doc); err != nil {
		t.Fatal(err)
	}
	text, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer text.Close()
	value, err := jsonschema.UnmarshalJSON(text)
	if err != nil {
		t.Fatal(err)
	}
	if err := c.MustCompile(id).Validate(value); err != nil {
		t.Errorf("%s: %v", file, err)
	}
}
