package emit

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"

	"fettle/compiler/check"
	"fettle/compiler/plan"
	"fettle/lang/formula"
	"fettle/lang/source"
)

// Manifest gives the tune.json of a tune with these tables.
func Manifest(in Input, tables []File) ([]byte, error) {
	t, err := about(in, tables)
	if err != nil {
		return nil, err
	}
	return Encode(t)
}

// about is what a tune.json says of a tune whose CSV tables these are.
func about(in Input, tables []File) (*Tune, error) {
	if f := in.Result.Fault; f != nil {
		return nil, fmt.Errorf("%s has no manifest: %s", in.Tune.Name, faultText(&in))
	}
	sums := make(map[string]string, len(tables))
	for _, f := range tables {
		sums[f.Path] = sum(f.Data)
	}
	t := Tune{
		Schema: TuneVersion, Name: in.Tune.Name, Variant: in.Tune.Variant.Name, From: in.Tune.From, Doc: in.Tune.Variant.Doc,
		Source: sourceInfo(in.Source), Compiler: in.Source.Version,
		Conditions: conditions(&in), Maps: []Map{}, Rules: []Rule{}, LeftOut: []LeftOut{}, Trims: []Adjustment{}, Filled: []Filled{},
		Limits: limits(&in), Checks: checks(&in), Cautions: Cautions(in.Program),
	}
	for _, m := range in.Program.Maps {
		name := tableFile(m)
		switch {
		case !in.WantsCSV():
			name = ""
		case sums[name] == "":
			return nil, fmt.Errorf("%s: the table of %s is missing", in.Tune.Name, m.Name)
		}
		t.Maps = append(t.Maps, mapOf(in.Program, m, name, sums[name]))
		if f := filled(in.Program, m); len(f.Cells) > 0 {
			t.Filled = append(t.Filled, f)
		}
	}
	for _, r := range in.Program.Rules {
		if reason, out := leftOut(&in, r); out {
			t.LeftOut = append(t.LeftOut, LeftOut{r.Name, placeOf(r.Span), r.Doc, reason})
			continue
		}
		rule := Rule{Name: r.Name, Place: placeOf(r.Span), Doc: r.Doc, Adjustments: []Adjustment{}}
		if r.When != nil {
			rule.When = source.OneLine(r.When.Span.Text())
		}
		for _, s := range r.Steps {
			rule.Adjustments = append(rule.Adjustments, adjustment(&in, s))
		}
		t.Rules = append(t.Rules, rule)
	}
	for _, s := range in.Tune.Trims {
		t.Trims = append(t.Trims, adjustment(&in, s))
	}
	return &t, nil
}

func sum(data []byte) string {
	s := sha256.Sum256(data)
	return hex.EncodeToString(s[:])
}

func sourceInfo(s Source) SourceInfo {
	info := SourceInfo{Digest: s.Digest, Dirty: s.Dirty}
	if s.Revision != "" {
		info.Revision = &s.Revision
	}
	return info
}

// conditions lists what a tune has for each given.
func conditions(in *Input) []Condition {
	out := make([]Condition, len(in.Program.Givens))
	for i, g := range in.Program.Givens {
		x := in.Tune.Values[i]
		c := Condition{Name: g.Name, Kind: "number", Value: Number(x), Unit: g.Unit.Text, Text: plan.Text(g, x), Set: in.Tune.Set[i]}
		switch g.Kind {
		case check.Choice:
			c.Kind, c.Value, c.Catalog = "choice", c.Text, g.Catalog.Name
		case check.Switch:
			c.Kind, c.Value = "switch", x != 0
		}
		out[i] = c
	}
	return out
}

func mapOf(p *check.Program, m *check.Map, file, digest string) Map {
	out := Map{Name: m.Name, Unit: m.Unit.Text, Doc: m.Doc, File: file, SHA256: digest}
	points := [][]float64{m.Base.Cols}
	if len(m.Axes) == 2 {
		points = [][]float64{m.Base.Rows, m.Base.Cols}
	}
	for i, a := range m.Axes {
		axis := p.Axes[a]
		out.Axes = append(out.Axes, Axis{axis.Name, axis.Unit.Text, numbers(points[i])})
	}
	if m.Res.Set() {
		step := Number(m.Res.Step())
		out.Resolution = &step
	}
	return out
}

// filled lists the cells of a map that were blank in the source.
func filled(p *check.Program, m *check.Map) Filled {
	out := Filled{Map: m.Name}
	for _, a := range m.Axes {
		out.Axes = append(out.Axes, p.Axes[a].Name)
	}
	for i, from := range m.From {
		if from == nil {
			continue
		}
		c := FilledCell{At: numbers(cellAt(m, i))}
		for _, j := range from {
			c.From = append(c.From, numbers(cellAt(m, j)))
		}
		out.Cells = append(out.Cells, c)
	}
	return out
}

// leftOut says whether and why a rule didn't apply.
func leftOut(in *Input, r *check.Rule) (reason string, out bool) {
	for _, s := range r.Steps {
		if in.Result.Step(s).Applied {
			return "", false
		}
	}
	if r.When != nil {
		yes, err := formula.Decide(r.When, in.Tune.Conditions(in.Program))
		switch {
		case err != nil:
			return "its `when` can't be decided: " + err.Error(), true
		case !yes:
			return whyNot(in, r.When), true
		}
	}
	return "", false
}

func adjustment(in *Input, s *check.Step) Adjustment {
	r := in.Result.Step(s)
	return Adjustment{Map: s.Map.Name, Text: source.OneLine(s.Span.Text()), Place: placeOf(s.Span), Touched: r.Touched, Changed: r.Changed}
}
