package diff

import (
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"sync"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
)

var schema = sync.OnceValues(func() (*jsonschema.Schema, error) {
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(Schema))
	if err != nil {
		return nil, err
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("diff.schema.json", doc); err != nil {
		return nil, err
	}
	return c.Compile("diff.schema.json")
})

func validates(t fataler, r *Report) map[string]any {
	t.Helper()
	s, err := schema()
	if err != nil {
		t.Fatalf("the schema: %v", err)
	}
	text, err := r.JSON()
	if err != nil {
		t.Fatalf("%v", err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatalf("%v", err)
	}
	if err := s.Validate(doc); err != nil {
		t.Fatalf("the schema refuses it: %v\n%s", err, text)
	}
	return doc.(map[string]any)
}

func TestJSON(t *testing.T) {
	r := workspace(t, bench).diff(t, "home", "away")
	validates(t, r)
	text, err := r.JSON()
	if err != nil {
		t.Fatal(err)
	}
	golden(t, "bench.json", string(text))

	// The parts that a reader adds up by the elements' numbers are the change.
	var got jsonReport
	if err := json.Unmarshal(text, &got); err != nil {
		t.Fatal(err)
	}
	for _, m := range got.Tunes[0].Maps {
		for _, c := range m.Cells {
			sum, exact := 0.0, 0.0
			for _, p := range c.Parts {
				if p.Element >= len(got.Tunes[0].Elements) {
					t.Fatalf("part of element %d of %d", p.Element, len(got.Tunes[0].Elements))
				}
				sum += p.Change
				exact += p.Exact
			}
			if math.Abs(sum-c.Change) > 1e-9 || math.Abs(exact-c.Exact) > 1e-9 {
				t.Errorf("%s at %v: parts %v and %v, changes %v and %v", m.Map, c.At, sum, exact, c.Change, c.Exact)
			}
		}
	}

	// As a part of another document it is the same.
	inner, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	var compact bytes.Buffer
	if err := json.Compact(&compact, text); err != nil {
		t.Fatal(err)
	}
	// json.Marshal escapes < and > for HTML, and means the same.
	unescaped := strings.NewReplacer(`\u003c`, "<", `\u003e`, ">", `\u0026`, "&").Replace(string(inner))
	if unescaped != compact.String() {
		t.Error("json.Marshal gives something else than JSON")
	}
}

func TestSchemaRefuses(t *testing.T) {
	r := workspace(t, bench).diff(t, "home", "away")
	s, err := schema()
	if err != nil {
		t.Fatal(err)
	}
	text, err := r.JSON()
	if err != nil {
		t.Fatal(err)
	}
	for _, change := range [][2]string{
		{`"fettle/diff/1"`, `"fettle/diff/2"`},
		{`"state": "differs"`, `"state": "equal"`},
		{`"kind": "rule"`, `"kind": "together"`},
		{`"applies": "new"`, `"applies": "B"`},
		{`"differing": 3`, `"differing": 0`},
		{`"only_old": []`, `"only_olds": []`},
		{`"fettle why`, `"why`},
	} {
		bad := bytes.Replace(text, []byte(change[0]), []byte(change[1]), 1)
		if bytes.Equal(bad, text) {
			t.Fatalf("%s isn't in the report", change[0])
		}
		doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(bad))
		if err != nil {
			t.Fatal(err)
		}
		if s.Validate(doc) == nil {
			t.Errorf("with %s for %s it is accepted", change[1], change[0])
		}
	}
}
