package review

import (
	"bytes"
	"encoding/json"
	"strings"
	"sync"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"fettle/lang/source"
)

var schema = sync.OnceValues(func() (*jsonschema.Schema, error) {
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader([]byte(Schema)))
	if err != nil {
		return nil, err
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("diff.schema.json", doc); err != nil {
		return nil, err
	}
	return c.Compile("diff.schema.json")
})

// validates checks a review's JSON by the schema, and gives it.
func validates(t *testing.T, r *Review) []byte {
	t.Helper()
	s, err := schema()
	if err != nil {
		t.Fatalf("the schema: %v", err)
	}
	text, err := r.JSON()
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Validate(doc); err != nil {
		t.Fatalf("the schema refuses it: %v\n%s", err, text)
	}
	return text
}

func TestJSON(t *testing.T) {
	r := sample()
	// The spark of one tune is allowed.
	m := r.Entries[0].find("spark")
	m.Shown, m.Hidden = nil, 1
	text := validates(t, r)
	golden(t, "sample.json", string(text))

	// What is laid out says the same as what isn't.
	var plain, laid bytes.Buffer
	enc := json.NewEncoder(&plain)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(r.view()); err != nil {
		t.Fatal(err)
	}
	if err := json.Compact(&laid, text); err != nil {
		t.Fatal(err)
	}
	if laid.String() != string(bytes.TrimSpace(plain.Bytes())) {
		t.Error("the layout alters the text")
	}
}

func TestSchemaRefuses(t *testing.T) {
	s, err := schema()
	if err != nil {
		t.Fatal(err)
	}
	text := validates(t, sample())
	for _, change := range [][2]string{
		{`"fettle/diff/2"`, `"fettle/diff/1"`},
		{`"verdict": "changed"`, `"verdict": "fine"`},
		{`"change": "newly fails"`, `"change": "fails"`},
		{`"state": "differs"`, `"state": "equal"`},
		{`"kind": "revision"`, `"kind": "commit"`},
		{`"pairs": 16`, `"pairs": -1`},
		{`"only_old": [`, `"only_olds": [`},
		{`"fettle why`, `"why`},
	} {
		bad := bytes.Replace(text, []byte(change[0]), []byte(change[1]), 1)
		if bytes.Equal(bad, text) {
			t.Fatalf("%s isn't in the review", change[0])
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

// Whatever kind of change, verdict and guard there is, the schema knows it.
func TestJSONKnowsEveryKind(t *testing.T) {
	r := sample()
	m := r.Limits[2]
	m.Moved, m.Due, m.Unlooked, m.Alike = &Moved{At: "x 6", AtArgs: []string{"x=6"}, Was: 240, Is: 300, Unit: "g/min", share: 0.25}, r.Elements[:1], 3, true
	r.Limits[1].After.Op = ">="
	for _, kind := range []string{GuardGiven, GuardAxis, GuardPolicy, GuardCaution} {
		r.Guards = append(r.Guards, &Guard{Kind: kind, Name: "fuel", Gone: kind == GuardCaution, Text: [2]string{"2 %", "30 %"}, Place: [2]source.Span{line(1), line(2)}})
	}
	for _, kind := range kinds {
		m.Kind = kind
		validates(t, r)
	}
	for _, v := range []Verdict{AllSame, Refactoring, Weakened, Failing, OutsideText, Changed, TablesOnly} {
		r.Verdict = v
		validates(t, r)
	}
	text := string(validates(t, r))
	for _, want := range []string{
		`"moved": {"at": "x 6", "at_args": ["x=6"], "was": 240, "is": 300, "unit": "g/min"}`,
		`"due": [`, `"unlooked": 3`, `"alike": true`, `"breaks": 2`, `"op": ">="`, `"kind": "caution"`, `"gone": true`,
	} {
		if !strings.Contains(text, want) {
			t.Errorf("nothing says %s", want)
		}
	}
}
