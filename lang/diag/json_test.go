package diag

import (
	"bytes"
	"encoding/json"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"fettle/lang/source"
)

func schema(t *testing.T) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(Schema))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("diagnostics.json", doc); err != nil {
		t.Fatal(err)
	}
	return c.MustCompile("diagnostics.json")
}

func valid(t *testing.T, s *jsonschema.Schema, text []byte) error {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	return s.Validate(doc)
}

func sample(t *testing.T) []*Diagnostic {
	t.Helper()
	f := source.New("tune.fettle", "let é = 1\nlet <b> = 2\n")
	l := &List{}
	l.Add("E406", spanOf(t, f, "<b>"), "`<b>` is declared twice").
		Note(spanOf(t, f, "1"), "first declared here").Note(source.Span{}, "one name, one meaning").
		Suggest(spanOf(t, f, "é"), "", "leave it out")
	l.Add("W001", spanOf(t, f, "2"), "odd").Hint("mend it")
	l.Add("E401", source.Span{}, "no file")
	return l.Sorted()
}

func TestJSON(t *testing.T) {
	text := JSON(sample(t))
	if err := valid(t, schema(t), text); err != nil {
		t.Errorf("%v\n%s", err, text)
	}
	if !bytes.Contains(text, []byte("`<b>`")) {
		t.Errorf("signs are written as escapes: %s", text)
	}
	var r Report
	if err := json.Unmarshal(text, &r); err != nil {
		t.Fatal(err)
	}
	if r.Errors != 2 || r.Warnings != 1 || len(r.Diagnostics) != 3 {
		t.Errorf("%d errors, %d warnings, %d in all", r.Errors, r.Warnings, len(r.Diagnostics))
	}
	twice := r.Diagnostics[1]
	if twice.JSONPlace == nil || twice.From != (JSONPos{2, 5, 15}) || twice.To != (JSONPos{2, 8, 18}) || twice.File != "tune.fettle" {
		t.Errorf("the place is %+v", twice.JSONPlace)
	}
	if fix := twice.Fix; fix == nil || fix.Replace == nil || *fix.Replace != "" || fix.From != (JSONPos{1, 5, 4}) || fix.To != (JSONPos{1, 6, 6}) {
		t.Errorf("the fix is %+v", fix)
	}
	if r.Diagnostics[0].JSONPlace != nil || r.Diagnostics[2].Fix.Replace != nil || r.Diagnostics[2].Fix.JSONPlace != nil {
		t.Errorf("places where there are none: %s", text)
	}
	if err := valid(t, schema(t), JSON(nil)); err != nil {
		t.Errorf("an empty list: %v", err)
	}
}

// TestSchemaRefuses: the schema says no where it should.
func TestSchemaRefuses(t *testing.T) {
	s := schema(t)
	for _, change := range []func(r map[string]any, first map[string]any){
		func(r, _ map[string]any) { r["schema"] = "fettle/diagnostics/2" },
		func(r, _ map[string]any) { delete(r, "errors") },
		func(r, _ map[string]any) { r["more"] = 1 },
		func(_, d map[string]any) { d["code"] = "X101" },
		func(_, d map[string]any) { d["severity"] = "warning" },
		func(_, d map[string]any) { delete(d, "from") },
		func(_, d map[string]any) { delete(d, "notes") },
		func(_, d map[string]any) { d["line"] = 3 },
		func(_, d map[string]any) { d["from"].(map[string]any)["column"] = 0 },
		func(_, d map[string]any) { delete(d["fix"].(map[string]any), "replace") },
		func(_, d map[string]any) { delete(d["fix"].(map[string]any), "file") },
		func(_, d map[string]any) { d["notes"].([]any)[0].(map[string]any)["text"] = "" },
	} {
		var r map[string]any
		if err := json.Unmarshal(JSON(sample(t)), &r); err != nil {
			t.Fatal(err)
		}
		change(r, r["diagnostics"].([]any)[1].(map[string]any))
		text, err := json.Marshal(r)
		if err != nil {
			t.Fatal(err)
		}
		if valid(t, s, text) == nil {
			t.Errorf("the schema takes %s", text)
		}
	}
}
