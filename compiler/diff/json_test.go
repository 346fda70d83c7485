package diff

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"sync"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
)

// schema is that of a pair, a part of a review's.
var schema = sync.OnceValues(func() (*jsonschema.Schema, error) {
	text, err := os.ReadFile("../review/schema/diff.schema.json")
	if err != nil {
		return nil, err
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		return nil, err
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("diff.schema.json", doc); err != nil {
		return nil, err
	}
	return c.Compile("diff.schema.json#/$defs/tune")
})

// pairJSON is a pair as JSON, with every second cell allowed.
func pairJSON(t fataler, p *Pair) []byte {
	t.Helper()
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(p.View(func(m *MapDiff, cell int) bool { return cell%2 == 1 }, p.whyCommand("fettle"))); err != nil {
		t.Fatalf("%v", err)
	}
	return b.Bytes()
}

// validates checks a report's pairs by the schema.
func validates(t fataler, r *Report) {
	t.Helper()
	s, err := schema()
	if err != nil {
		t.Fatalf("the schema: %v", err)
	}
	for _, p := range r.Pairs {
		text := pairJSON(t, p)
		doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
		if err != nil {
			t.Fatalf("%v", err)
		}
		if err := s.Validate(doc); err != nil {
			t.Fatalf("the schema refuses it: %v\n%s", err, text)
		}
	}
}

func TestJSON(t *testing.T) {
	r := workspace(t, bench).diff(t, "home", "away")
	validates(t, r)
	text := pairJSON(t, r.Pairs[0])
	golden(t, "bench.json", string(text))

	// The parts that a reader adds up by the elements' numbers are the change.
	var got jsonPair
	if err := json.Unmarshal(text, &got); err != nil {
		t.Fatal(err)
	}
	for _, m := range got.Maps {
		for _, c := range m.Cells {
			sum, exact := 0.0, 0.0
			for _, p := range c.Parts {
				if p.Element >= len(got.Elements) {
					t.Fatalf("part of element %d of %d", p.Element, len(got.Elements))
				}
				sum += p.Change
				exact += p.Exact
			}
			if math.Abs(sum-c.Change) > 1e-9 || math.Abs(exact-c.Exact) > 1e-9 {
				t.Errorf("%s at %v: parts %v and %v, changes %v and %v", m.Map, c.At, sum, exact, c.Change, c.Exact)
			}
		}
	}
}

func TestSchemaRefuses(t *testing.T) {
	r := workspace(t, bench).diff(t, "home", "away")
	s, err := schema()
	if err != nil {
		t.Fatal(err)
	}
	text := pairJSON(t, r.Pairs[0])
	for _, change := range [][2]string{
		{`"allowed": true`, `"allowed": false`},
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
