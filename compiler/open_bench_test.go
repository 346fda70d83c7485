package compiler_test

import (
	"fmt"
	"strings"
	"testing"

	"fettle/compiler"
	"fettle/compiler/check"
	"fettle/compiler/plan"
	"fettle/compiler/resolve"
	"fettle/examples"
	"fettle/lang/diag"
	"fettle/lang/source"
)

func benchFiles(b *testing.B) source.Memory {
	b.Helper()
	files, err := examples.Sources("../examples/tussock")
	if err != nil {
		b.Fatal(err)
	}
	return files
}

var rounds int

// anew ends each source with another comment, so that none is known already.
func anew(files source.Memory) source.Memory {
	rounds++
	out := source.Memory{}
	for name, text := range files {
		if strings.HasSuffix(name, ".fettle") {
			text += fmt.Sprintf("# %d\n", rounds)
		}
		out[name] = text
	}
	return out
}

// BenchmarkOpen reads and checks an example, as every command does first: a
// stage after the other, then all of it; and again with nothing changed.
func BenchmarkOpen(b *testing.B) {
	files := benchFiles(b)
	r := resolve.Load(files, &diag.List{})
	p := check.Run(r, &diag.List{})
	for _, stage := range []struct {
		name string
		run  func()
	}{
		{"load", func() { resolve.Load(anew(files), &diag.List{}) }},
		{"check", func() { check.Run(r, &diag.List{}) }},
		{"plan", func() { plan.Run(p, &diag.List{}) }},
		{"all", func() { compiler.Open(anew(files)) }},
		{"again", func() { compiler.Open(files) }},
	} {
		b.Run(stage.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				stage.run()
			}
		})
	}
}

// BenchmarkOpenEdited opens a workspace again after a cell of a CSV file changed.
func BenchmarkOpenEdited(b *testing.B) {
	files := benchFiles(b)
	before := files["base_fuel.csv"]
	at := strings.LastIndexByte(before, ',') + 1
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		files["base_fuel.csv"] = before[:at] + fmt.Sprintf("%d.%02d", 9+i%3, i%100) + "\n"
		if w := compiler.Open(files); w.Diags.HasErrors() {
			b.Fatal(w.Diags.Sorted()[0].Message)
		}
	}
}

// tenThousandLines is a source with much of everything: maps, values, functions,
// regions, rules, limits, variants, checks and comments.
func tenThousandLines() source.Memory {
	var s strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&s, format+"\n", args...) }
	line("use air, injection\naxis throttle [%%] 0..100\naxis rpm [rpm] 1000..14500")
	line("given altitude [m] = 40 within -400..4500\ngiven air_temp [degC] = 22 within -20..50\ngiven wet = no")
	line("catalog pipes {\n  name | tuned [rpm] | trust\n  stock | 8000 | 1\n  long | 7400 | 0.97\n}\ngiven pipe from pipes = stock")
	for n := 0; strings.Count(s.String(), "\n") < 10_000; n++ {
		line("\n# Part %d: a base, what is done to it, and what must hold.", n)
		line("map fuel_%d [mg] to 0.01 {", n)
		line("  throttle \\ rpm | 2000 3000 4000 5000 6000 7000 8000 9000 10000 11000 12000 13000")
		for row := 0; row <= 100; row += 10 {
			var cells strings.Builder
			for col := range 12 {
				fmt.Fprintf(&cells, " %5.2f", 2+float64(row)/10+float64((col*7+n)%12)/8)
			}
			line("  %14d |%s", row, cells.String())
		}
		line("}\n# How much thinner the air is.\nlet thin_%d = (1 - altitude / 44330 m) ^ 5.2559 * (if wet then 0.99 else 1)", n)
		line("fn bend_%d(x [rpm], k) = 1 + k * (x / 10000 rpm) ^ 2 - 0.02 * (x / 10000 rpm)", n)
		line("region top_%d = rpm 8000..10500 feather 1200, throttle 40.. feather 25", n)
		line("map share_%d [%%] to 0.1 like fuel_%d = clamp(throttle * 0.5 + 2 %%, 0 %%, 60 %%)", n, n)
		line("map upper_%d [mg] to 0.01 like fuel_%d = fuel_%d * share_%d", n, n, n, n)
		for k := range 6 {
			line("# A rule that applies on some days.\nrule day_%d_%d when air_temp > %d degC or pipe is long {", n, k, 20+k)
			line("  fuel_%d *= thin_%d\n  fuel_%d += %d %% over top_%d where rpm > %d", n, n, n, k+1, n, 3000+500*k)
			line("  fuel_%d *= bend_%d(rpm, 0.0%d)", n, n, k+1)
			line("  fuel_%d += 0.1 mg over rpm 6000..9000 feather 500, throttle 50..\n}", n)
		}
		line("limit most_%d: fuel_%d <= 21 mg\nlimit jump_%d: step(fuel_%d, rpm) <= 4 mg else warn", n, n, n, n)
		line("limit some_%d: 0.5 mg <= fuel_%d where throttle >= 20 when not wet", n, n)
		line("variant day_%d {\n  altitude = %d m\n  air_temp = %d degC\n  pipe = long\n  wet = yes\n}", n, 40+n, 10+n%20)
		line("check \"part %d\" with day_%d {\n  fuel_%d(100 %%, 9000 rpm) >= 1 mg\n  share_%d(100 %%, 9000 rpm) == 52 %% +- 0.1\n}", n, n, n, n)
	}
	return source.Memory{source.MainName: s.String()}
}

// BenchmarkTenThousandLines reads and checks a long source.
func BenchmarkTenThousandLines(b *testing.B) {
	files := tenThousandLines()
	b.SetBytes(int64(len(files[source.MainName])))
	b.ReportAllocs()
	for b.Loop() {
		if w := compiler.Open(anew(files)); w.Diags.HasErrors() {
			d := w.Diags.Sorted()[0]
			b.Fatal(d.Span, d.Message)
		}
	}
}
