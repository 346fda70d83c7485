package formula

var opNames = map[Op]string{
	Const: "const", AxisVal: "axis", GivenVal: "given", GivenYes: "given?", GivenCol: "column", GivenIs: "is", MapHere: "here", MapAt: "look-up",
	StepOf: "step", Param: "parameter", Neg: "neg", Add: "+", Sub: "-", Mul: "*", Div: "/", Pow: "^", Lt: "<", Le: "<=", Gt: ">", Ge: ">=",
	Eq: "==", Ne: "!=", And: "and", Or: "or", Not: "not", If: "if", Min: "min", Max: "max", Clamp: "clamp", Abs: "abs", Sqrt: "sqrt",
	Exp: "exp", Log: "log", Round: "round", Floor: "floor", Ceil: "ceil", Convert: "convert", Within: "within", CurveAt: "curve", Alias: "alias",
}

// String names an operation, for dumps.
func (op Op) String() string {
	if s, ok := opNames[op]; ok {
		return s
	}
	return "op?"
}
