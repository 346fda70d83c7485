package formula

import (
	"fmt"
	"strconv"
	"testing"

	"github.com/expr-lang/expr/ast"
	"github.com/expr-lang/expr/parser"
	"pgregory.net/rapid"

	"fettle/lang/source"
)

// shape writes a tree with the places that are asked for.
func shape(n ast.Node) string {
	at := n.Location().From
	switch n := n.(type) {
	case *ast.IdentifierNode:
		return fmt.Sprintf("%s@%d", n.Value, at)
	case *ast.UnaryNode:
		return fmt.Sprintf("(%s@%d %s)", n.Operator, at, shape(n.Node))
	case *ast.BinaryNode:
		return fmt.Sprintf("(%s %s@%d %s)", shape(n.Left), n.Operator, at, shape(n.Right))
	case *ast.ConditionalNode:
		return fmt.Sprintf("(%s ? %s : %s)", shape(n.Cond), shape(n.Exp1), shape(n.Exp2))
	case *ast.CallNode:
		s := "(" + shape(n.Callee)
		for _, a := range n.Arguments {
			s += " , " + shape(a)
		}
		return s + ")"
	}
	return fmt.Sprintf("%T", n)
}

// words draws what may stand in a rewritten text, mostly so that it can be read.
func words(t *rapid.T, depth int) []string {
	leaf := []string{"t" + strconv.Itoa(rapid.IntRange(0, 12).Draw(t, "leaf"))}
	if depth == 0 {
		return leaf
	}
	inner := func() []string { return words(t, depth-1) }
	join := func(parts ...[]string) (out []string) {
		for _, p := range parts {
			out = append(out, p...)
		}
		return out
	}
	one := func(s string) []string { return []string{s} }
	switch rapid.IntRange(0, 9).Draw(t, "form") {
	case 0:
		return leaf
	case 1:
		return join(one(rapid.SampledFrom([]string{"-", "+", "not"}).Draw(t, "sign")), inner())
	case 2:
		return join(one("("), inner(), one(")"))
	case 3:
		return join(inner(), one("?"), inner(), one(":"), inner())
	case 4:
		return join(leaf, one("("), inner(), one(","), inner(), one(")"))
	case 5: // a slip
		at := inner()
		k := rapid.IntRange(0, len(at)).Draw(t, "at")
		slip := rapid.SampledFrom([]string{"(", ")", "?", ":", ",", "+", "not", "and", "<", "t1"}).Draw(t, "slip")
		return join(at[:k:k], one(slip), at[k:])
	}
	op := rapid.SampledFrom([]string{"or", "and", "==", "!=", "<", "<=", ">", ">=", "+", "-", "*", "/", "^"}).Draw(t, "operator")
	return join(inner(), one(op), inner())
}

// The tree made by hand is the one that expr makes.
func TestClimbAgreesWithExpr(t *testing.T) {
	made, left := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		w := &rewritten{}
		for _, word := range words(t, 4) {
			w.put(word, source.Span{})
		}
		got := climb(w)
		want, err := parser.ParseWithConfig(w.text(), grammar())
		switch {
		case got == nil && err == nil:
			left++ // a second comparison
		case got == nil:
		case err != nil:
			t.Fatalf("%s: made by hand, and refused by expr: %v", w.text(), err)
		case shape(got) != shape(want.Node):
			t.Fatalf("%s:\n%s by hand\n%s by expr", w.text(), shape(got), shape(want.Node))
		default:
			made++
		}
	})
	if !testing.Short() && (made < 30 || left > made) {
		t.Errorf("%d trees were made by hand, and %d left to expr", made, left)
	}
}
