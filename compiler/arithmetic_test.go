package compiler_test

import (
	"bufio"
	"bytes"
	"fmt"
	"go/ast"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// exact are the functions of package math that give the same bits everywhere: IEEE
// 754 fixes them, or they only move bits. The others have assembly for some
// processors, or products and sums that a compiler may join; lang/elementary has
// what is needed of them.
var exact = map[string]bool{
	"Abs": true, "Sqrt": true, "Floor": true, "Ceil": true, "Trunc": true, "Round": true, "RoundToEven": true, "Modf": true, "Mod": true, "FMA": true,
	"Inf": true, "IsInf": true, "NaN": true, "IsNaN": true, "Signbit": true, "Copysign": true, "Max": true, "Min": true,
	"Float64bits": true, "Float64frombits": true, "Float32bits": true, "Float32frombits": true, "Nextafter": true, "Frexp": true, "Ldexp": true,
	"Pow10": true, // two tables and a product or a quotient
}

// Every sum of a product rounds the product first, which only a conversion makes
// sure of, and nothing is computed by functions that differ between machines.
// .ci/everywhere looks for the joined instructions themselves.
func TestNothingIsFused(t *testing.T) {
	files := token.NewFileSet()
	packages := map[string][]*ast.File{}
	exports := map[string]string{}
	out, err := exec.Command("go", "list", "-export", "-deps", "-f", `{{.ImportPath}}	{{.Export}}	{{.Dir}}	{{join .GoFiles " "}}`, "fettle/...").Output()
	if err != nil {
		t.Fatal(err)
	}
	ours := 0
	for lines := bufio.NewScanner(bytes.NewReader(out)); lines.Scan(); {
		f := strings.Split(lines.Text(), "\t")
		exports[f[0]] = f[1]
		if !strings.HasPrefix(f[0], "fettle/") || strings.HasPrefix(f[0], "fettle/testdata/") {
			continue
		}
		ours++
		for _, name := range strings.Fields(f[3]) {
			file, err := parser.ParseFile(files, filepath.Join(f[2], name), nil, parser.SkipObjectResolution)
			if err != nil {
				t.Fatal(err)
			}
			packages[f[0]] = append(packages[f[0]], file)
		}
	}
	if ours < 30 {
		t.Fatalf("only %d packages", ours)
	}
	open := func(path string) (io.ReadCloser, error) { return os.Open(exports[path]) }
	sums := 0
	for _, pkg := range slices.Sorted(maps.Keys(packages)) {
		list := packages[pkg]
		a := newArithmetic(files)
		conf := types.Config{Importer: importer.ForCompiler(files, "gc", open)}
		if _, err := conf.Check(pkg, files, list, a.info); err != nil {
			t.Fatal(err)
		}
		for _, fault := range a.faults(list) {
			t.Error(fault)
		}
		sums += a.sums
	}
	if sums < 100 {
		t.Errorf("only %d sums of floats were looked at", sums)
	}
}

// The ways in which a product gets into a sum, which a compiler follows too.
func TestFusedIsFound(t *testing.T) {
	const text = `package p
import "math"
type pair struct{ a, b float64 }
func product(x, y float64) float64 { return x * y }
func through(x, y float64) float64 { return product(x, y) }
func rounded(x, y float64) float64 { return float64(x * y) }
func named(x, y float64) (z float64) { z = x * y; return }
func f(x, y, z float64, n int, s []float64) float64 {
	z = x*y + z            // bad
	z = z - (x * y)        // bad
	z = -(x * y) + z       // bad
	z += x * y             // bad
	z -= 2 * x             // bad
	z = product(x, y) + z  // bad
	z = through(x, y) - z  // bad
	z = named(x, y) + z    // bad
	p := x * y
	z = p + z              // bad
	q := x
	q *= y
	z -= q                 // bad
	s[0] += x * float64(n) // bad
	r := p
	z = r + 1              // bad
	z = math.Exp(z)        // bad
	z = max(x*y, 0) + z    // bad
	z = math.Abs(x*y) + z  // bad
	g := math.Pow          // bad
	z = float64(x*y) + z
	z = rounded(x, y) + z
	w := x * y * z
	_ = w
	v := (x + y) * z
	_ = v
	z = x*y/z + 1
	z = math.Sqrt(x*y) + 2
	n = n*n + 1
	k := float64(x * y)
	z = k + 2
	const c = 2.5 * 2
	z = c*2 + z
	return g(z, 2)
}
`
	files := token.NewFileSet()
	file, err := parser.ParseFile(files, "p.go", text, parser.SkipObjectResolution|parser.ParseComments)
	if err != nil {
		t.Fatal(err)
	}
	a := newArithmetic(files)
	conf := types.Config{Importer: importer.Default()}
	conf.Importer = importer.ForCompiler(files, "source", nil)
	if _, err := conf.Check("p", files, []*ast.File{file}, a.info); err != nil {
		t.Fatal(err)
	}
	var got, want []string
	for _, fault := range a.faults([]*ast.File{file}) {
		line, _, _ := strings.Cut(strings.TrimPrefix(fault, "p.go:"), ":")
		got = append(got, line)
	}
	for i, line := range strings.Split(text, "\n") {
		if strings.HasSuffix(line, "// bad") {
			want = append(want, fmt.Sprint(i+1))
		}
	}
	if !slices.Equal(got, want) {
		t.Errorf("found in lines %v, want %v", got, want)
	}
}
