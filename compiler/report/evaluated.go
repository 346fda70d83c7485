package report

import (
	_ "embed"
	"fmt"
	"math"

	"fettle/compiler/library"
	"fettle/lang/unit"
)

// Evaluated is what `eval --json` prints. A yes/no has neither value nor unit.
type Evaluated struct {
	Schema string   `json:"schema"`
	Expr   string   `json:"expr"`
	Value  *float64 `json:"value,omitempty"`
	Unit   string   `json:"unit"`
	YesNo  *bool    `json:"yes,omitempty"`
	Kind   string   `json:"kind"` // what is measured: "pressure", "yes/no", "none"
	Text   string   `json:"text"`
}

// NewEvaluated puts a computed value in words. The error says that it isn't a
// finite number.
func NewEvaluated(expr string, v *library.Value) (Evaluated, error) {
	out := Evaluated{Schema: "fettle/eval/1", Expr: expr}
	if v.YesNo {
		yes := v.Number != 0
		out.YesNo, out.Kind, out.Text = &yes, "yes/no", map[bool]string{true: "yes", false: "no"}[yes]
		return out, nil
	}
	if math.IsNaN(v.Number) || math.IsInf(v.Number, 0) {
		return out, fmt.Errorf("the result of %s isn't a finite number", expr)
	}
	x, u := v.Number, v.Unit
	if !u.IsPlain() && u.Text == "" {
		u = unit.Coherent(u.Dim)
	}
	out.Value, out.Unit, out.Kind, out.Text = &x, u.Text, u.Dim.String(), withUnit(x, u.Text)
	return out, nil
}

// Pages is what `doc --json` prints.
type Pages struct {
	Schema  string         `json:"schema"`
	Modules []library.Page `json:"modules"`
}

// The published schemas of the calculator and of the pages.
var (
	//go:embed schema/eval.schema.json
	EvalSchema string
	//go:embed schema/doc.schema.json
	DocSchema string
)
