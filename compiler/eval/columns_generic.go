//go:build !amd64 || purego

package eval

import "fettle/lang/formula"

var useWide = false

func arithWide(formula.Op, int, *Column, *Column, *Column, int, int) bool { return false }

func betweenWide(d, a, f *Column, nr, nc int) bool { return false }

func lerpBetween(d, a, b *float64, f float64, n int) {}

func scaleWide(d, a *float64, k *[4]float64, n int) {}

func allFinite(*float64, int) bool { return false }

func extentWide(*float64, int) (lo, hi float64, finite bool) { return 0, 0, false }

func differWide(a, b *float64, n int) int { return 0 }
