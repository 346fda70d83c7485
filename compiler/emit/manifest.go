package emit

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"

	"fettle/compiler/check"
	"fettle/compiler/plan"
	"fettle/lang/formula"
	"fettle/lang/source"
)

// Manifest gives the tune.json of a tune with these tables.
func Manifest(in Input, tables []File) ([]byte, error) {
	sums := make([]string, len(tables))
	for i, f := range tables {
		sums[i] = sum(f.Data)
	}
	t, err := about(&in, tables, sums)
	if err != nil {
		return nil, err
	}
	return t.encode(nil)
}

// manifest is a tune.json with what it takes to write it fast.
type manifest struct {
	Tune
	fixed *fixed
	rules []int // of the program: those of Rules
}

// about is what a tune.json says of a tune whose CSV tables these are, with their
// digests.
func about(in *Input, tables []File, sums []string) (*manifest, error) {
	if f := in.Result.Fault; f != nil {
		return nil, fmt.Errorf("%s has no manifest: %s", in.Tune.Name, faultText(in))
	}
	x := in.fix()
	t := manifest{fixed: x, rules: make([]int, 0, len(x.rules)), Tune: Tune{
		Schema: TuneVersion, Name: in.Tune.Name, Variant: in.Tune.Variant.Name, From: in.Tune.From, Doc: in.Tune.Variant.Doc,
		Source: sourceInfo(in.Source), Compiler: in.Source.Version,
		Conditions: conditions(in), Maps: append([]Map{}, x.maps...), Rules: make([]Rule, 0, len(x.rules)), LeftOut: []LeftOut{}, Trims: []Adjustment{}, Filled: x.filled,
		Limits: limits(in), Checks: checks(in), Cautions: x.cautions,
	}}
	if in.WantsCSV() {
		for i, m := range in.Program.Maps {
			file := tableFile(m)
			k := slices.IndexFunc(tables, func(f File) bool { return f.Path == file })
			if k < 0 {
				return nil, fmt.Errorf("%s: the table of %s is missing", in.Tune.Name, m.Name)
			}
			t.Maps[i].File, t.Maps[i].SHA256 = file, sums[k]
		}
	}
	adjustments := make([]Adjustment, 0, x.steps)
	for i, r := range in.Program.Rules {
		rule := x.rules[i]
		if reason, out := leftOut(in, r); out {
			t.LeftOut = append(t.LeftOut, LeftOut{r.Name, rule.Place, r.Doc, reason})
			continue
		}
		rule.Adjustments = append(adjustments, rule.Adjustments...)
		adjustments = rule.Adjustments[len(rule.Adjustments):]
		for k, s := range r.Steps {
			rule.Adjustments[k].did(in, s)
		}
		t.Rules, t.rules = append(t.Rules, rule), append(t.rules, i)
	}
	for _, s := range in.Tune.Trims {
		a := adjustment(s)
		a.did(in, s)
		t.Trims = append(t.Trims, a)
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

func mapOf(p *check.Program, m *check.Map) Map {
	out := Map{Name: m.Name, Unit: m.Unit.Text, Doc: m.Doc}
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

func adjustment(s *check.Step) Adjustment {
	return Adjustment{Map: s.Map.Name, Text: source.OneLine(s.Span.Text()), Place: placeOf(s.Span)}
}

// did notes what an adjustment did in a tune.
func (a *Adjustment) did(in *Input, s *check.Step) {
	r := in.Result.Step(s)
	a.Touched, a.Changed = r.Touched, r.Changed
}
