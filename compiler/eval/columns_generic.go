//go:build !amd64 || purego

package eval

import "fettle/lang/formula"

var useWide = false

func arithWide(formula.Op, int, Column, Column, Column, int, int) bool { return false }

func finiteWide([]float64) bool { return false }
