package compiler_test

import (
	"fmt"
	"go/ast"
	"go/token"
	"go/types"
)

// arithmetic finds sums of products in one package. A product that wasn't rounded
// is followed through local variables, results of functions of the package, signs
// and what only selects.
type arithmetic struct {
	files *token.FileSet
	info  *types.Info
	loose map[types.Object]bool // variables and functions that may give a product
	sums  int
}

func newArithmetic(files *token.FileSet) *arithmetic {
	return &arithmetic{files, &types.Info{Types: map[ast.Expr]types.TypeAndValue{}, Defs: map[*ast.Ident]types.Object{}, Uses: map[*ast.Ident]types.Object{}}, map[types.Object]bool{}, 0}
}

func (a *arithmetic) isFloat(e ast.Expr) bool {
	tv := a.info.Types[e]
	if id, ok := e.(*ast.Ident); ok && tv.Type == nil {
		if o := a.object(id); o != nil {
			tv.Type = o.Type()
		}
	}
	if tv.Type == nil || tv.Value != nil {
		return false
	}
	switch t := tv.Type.Underlying().(type) {
	case *types.Basic:
		return t.Info()&types.IsFloat != 0
	case *types.TypeParam:
		return true
	case *types.Interface:
		return types.IsInterface(tv.Type) && !t.IsMethodSet()
	}
	return false
}

func (a *arithmetic) object(id *ast.Ident) types.Object {
	if o := a.info.Defs[id]; o != nil {
		return o
	}
	return a.info.Uses[id]
}

// called is the function that a call is of, if it has a name.
func (a *arithmetic) called(call *ast.CallExpr) types.Object {
	switch f := ast.Unparen(call.Fun).(type) {
	case *ast.Ident:
		return a.object(f)
	case *ast.SelectorExpr:
		return a.object(f.Sel)
	}
	return nil
}

// product says whether an expression may be a product that wasn't rounded.
func (a *arithmetic) product(e ast.Expr) bool {
	if !a.isFloat(e) {
		return false
	}
	switch e := e.(type) {
	case *ast.ParenExpr:
		return a.product(e.X)
	case *ast.UnaryExpr:
		return e.Op == token.SUB && a.product(e.X)
	case *ast.BinaryExpr:
		return e.Op == token.MUL
	case *ast.Ident:
		return a.loose[a.object(e)]
	case *ast.CallExpr:
		switch f := a.called(e).(type) {
		case *types.Func:
			if f.Pkg() != nil && f.Pkg().Path() == "math" && (f.Name() == "Abs" || f.Name() == "Max" || f.Name() == "Min") {
				return a.anyProduct(e.Args)
			}
			return a.loose[f.Origin()]
		case *types.Builtin: // min and max
			return a.anyProduct(e.Args)
		}
	}
	return false
}

func (a *arithmetic) anyProduct(list []ast.Expr) bool {
	for _, e := range list {
		if a.product(e) {
			return true
		}
	}
	return false
}

// follow finds what may give a product, until nothing more is found.
func (a *arithmetic) follow(files []*ast.File) {
	for before := -1; before != len(a.loose); {
		before = len(a.loose)
		for _, file := range files {
			for _, d := range file.Decls {
				var own *ast.FuncDecl
				if f, ok := d.(*ast.FuncDecl); ok {
					own = f
				}
				ast.Inspect(d, func(n ast.Node) bool {
					switch n := n.(type) {
					case *ast.FuncLit:
						// Its results aren't the function's.
						a.followIn(n.Body, nil)
						return false
					default:
						a.step(n, own)
					}
					return true
				})
			}
		}
	}
}

func (a *arithmetic) followIn(n ast.Node, own *ast.FuncDecl) {
	ast.Inspect(n, func(n ast.Node) bool {
		a.step(n, own)
		return true
	})
}

// step looks at one assignment or result.
func (a *arithmetic) step(n ast.Node, own *ast.FuncDecl) {
	mark := func(e ast.Expr) {
		if id, ok := ast.Unparen(e).(*ast.Ident); ok && id.Name != "_" {
			if o := a.object(id); o != nil {
				a.loose[o] = true
			}
		}
	}
	switch n := n.(type) {
	case *ast.AssignStmt:
		if n.Tok == token.MUL_ASSIGN && a.isFloat(n.Lhs[0]) {
			mark(n.Lhs[0])
		}
		if (n.Tok == token.ASSIGN || n.Tok == token.DEFINE) && len(n.Lhs) == len(n.Rhs) {
			for i, e := range n.Rhs {
				if a.product(e) {
					mark(n.Lhs[i])
				}
			}
		}
	case *ast.ValueSpec:
		for i, e := range n.Values {
			if i < len(n.Names) && a.product(e) {
				mark(n.Names[i])
			}
		}
	case *ast.ReturnStmt:
		if own == nil {
			return
		}
		if len(n.Results) == 1 && a.product(n.Results[0]) {
			a.loose[a.info.Defs[own.Name]] = true
		}
		if r := own.Type.Results; len(n.Results) == 0 && r != nil && len(r.List) == 1 && len(r.List[0].Names) == 1 && a.loose[a.info.Defs[r.List[0].Names[0]]] {
			a.loose[a.info.Defs[own.Name]] = true
		}
	}
}

// faults gives what is wrong, with its place.
func (a *arithmetic) faults(files []*ast.File) (faults []string) {
	a.follow(files)
	wrong := func(n ast.Node, format string, args ...any) {
		at := a.files.Position(n.Pos())
		faults = append(faults, fmt.Sprintf("%s:%d: %s", at.Filename, at.Line, fmt.Sprintf(format, args...)))
	}
	sum := func(n ast.Node, operands ...ast.Expr) {
		a.sums++
		for _, e := range operands {
			if a.product(e) {
				wrong(n, "a product and a sum may be joined to one rounding: write float64(x*y)")
				return
			}
		}
	}
	for _, file := range files {
		ast.Inspect(file, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.BinaryExpr:
				if (n.Op == token.ADD || n.Op == token.SUB) && a.isFloat(n) {
					sum(n, n.X, n.Y)
				}
			case *ast.AssignStmt:
				if (n.Tok == token.ADD_ASSIGN || n.Tok == token.SUB_ASSIGN) && a.isFloat(n.Lhs[0]) {
					sum(n, n.Lhs[0], n.Rhs[0])
				}
			case *ast.SelectorExpr:
				f, ok := a.info.Uses[n.Sel].(*types.Func)
				if ok && f.Pkg() != nil && f.Pkg().Path() == "math" && !exact[f.Name()] {
					wrong(n, "math.%s differs between machines: lang/elementary has what is the same everywhere", f.Name())
				}
			}
			return true
		})
	}
	return faults
}
