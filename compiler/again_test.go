package compiler

import (
	"reflect"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"fettle/compiler/check"
	"fettle/compiler/resolve"
	"fettle/examples"
	"fettle/lang/diag"
	"fettle/lang/formula"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

func tussock(t *testing.T) source.Memory {
	t.Helper()
	files, err := examples.Sources("../examples/tussock")
	if err != nil {
		t.Fatal(err)
	}
	return files
}

// A program made of the one before is what checking gives, and shares nothing
// with the one before that tells of cells.
func TestCheckedAgain(t *testing.T) {
	files := tussock(t)
	before := Open(files)
	lines := strings.SplitAfter(files["base_fuel.csv"], "\n")
	cut := strings.LastIndexByte(lines[3], ',')
	lines[3] = lines[3][:cut] + ",9.87\n"
	files["base_fuel.csv"] = strings.Join(lines, "")
	after := resolve.Load(files, &diag.List{})
	again := check.Again(before.Program, after)
	if again == nil {
		t.Fatal("a changed cell asks for all to be checked again")
	}
	fresh := check.Run(after, &diag.List{})
	opts := cmp.Options{
		cmp.Exporter(func(reflect.Type) bool { return true }),
		at(func(field string) bool {
			return field == ".Scope" || field == ".Resolved" || field == ".symbols" || field == ".decl"
		}, cmp.Ignore()),
		// What points back is compared by its name, or there would be no end.
		at(backwards, cmp.Comparer(func(a, b *check.Map) bool { return a == b || a.Name == b.Name })),
		at(backwards, cmp.Comparer(func(a, b *check.Rule) bool { return a == b || a.Name == b.Name })),
		at(backwards, cmp.Comparer(func(a, b *check.Target) bool { return a == b || a.Name == b.Name })),
		cmp.Comparer(func(a, b *source.File) bool { return a == b || a.Name == b.Name && a.Text == b.Text }),
		cmp.Comparer(func(a, b *formula.Node) bool { return a == b || a.Op == b.Op && a.Span == b.Span && a.Maps == b.Maps }),
		cmp.Comparer(func(a, b *formula.Catalog) bool { return reflect.DeepEqual(a, b) }),
	}
	if d := cmp.Diff(fresh, again, opts); d != "" {
		t.Error(d)
	}
	if d := cmp.Diff(before.Program.Maps[0].Base, again.Maps[0].Base, opts); d == "" {
		t.Error("the cell hasn't changed")
	}
	old := map[uintptr]bool{}
	owned(reflect.ValueOf(before.Program), old)
	now := map[uintptr]bool{}
	owned(reflect.ValueOf(again), now)
	for p := range now {
		if old[p] {
			t.Fatal("a map, rule, step, limit, variant, target or bundle is shared")
		}
	}
	if len(now) < 50 || len(now) != len(old) {
		t.Errorf("%d and %d of them were found", len(old), len(now))
	}
}

func at(field func(string) bool, opt cmp.Option) cmp.Option {
	return cmp.FilterPath(func(p cmp.Path) bool { return field(p.Last().String()) }, opt)
}

func backwards(field string) bool {
	return field == ".Like" || field == ".Map" || field == ".Rule" || field == ".Clamped" || field == ".Target"
}

// owned gathers the pointers to what tells of cells.
func owned(v reflect.Value, seen map[uintptr]bool) {
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() {
			return
		}
		switch v.Type().Elem() {
		case reflect.TypeFor[check.Map](), reflect.TypeFor[check.Step](), reflect.TypeFor[check.Rule](), reflect.TypeFor[check.Limit](),
			reflect.TypeFor[check.Variant](), reflect.TypeFor[check.Target](), reflect.TypeFor[check.TargetTable](), reflect.TypeFor[check.Bundle]():
			if seen[v.Pointer()] {
				return
			}
			seen[v.Pointer()] = true
		case reflect.TypeFor[check.Program](), reflect.TypeFor[check.Check](), reflect.TypeFor[check.Region](), reflect.TypeFor[check.Expect]():
		default:
			return
		}
		owned(v.Elem(), seen)
	case reflect.Struct:
		for i := range v.NumField() {
			owned(v.Field(i), seen)
		}
	case reflect.Slice:
		for i := range v.Len() {
			owned(v.Index(i), seen)
		}
	}
}

// What may change more than cells is checked from the start.
func TestNotCheckedAgain(t *testing.T) {
	before := Open(tussock(t))
	for what, edit := range map[string]func(source.Memory){
		"a source":          func(f source.Memory) { f["limits.fettle"] += "\n" },
		"a catalogue":       func(f source.Memory) { f["fuels.csv"] = strings.Replace(f["fuels.csv"], "pump98", "pump99", 1) },
		"a breakpoint":      func(f source.Memory) { f["base_fuel.csv"] = strings.Replace(f["base_fuel.csv"], "1500", "1600", 1) },
		"a cell at fault":   func(f source.Memory) { f["base_fuel.csv"] = strings.TrimSpace(f["base_fuel.csv"]) + "x\n" },
		"a file is missing": func(f source.Memory) { delete(f, "base_fuel.csv") },
	} {
		files := tussock(t)
		edit(files)
		if check.Again(before.Program, resolve.Load(files, &diag.List{})) != nil {
			t.Errorf("%s changed, and not all is checked again", what)
		}
	}
}

// Trees that workspaces share are after all the stages what the parser made.
func TestTreesDontChange(t *testing.T) {
	w := Open(tussock(t))
	for _, tune := range w.Plan.Tunes[:3] {
		w.Tune(tune, RunOptions{Trace: func(*check.Map) bool { return true }, Survey: true, Targets: w.Program.Targets})
	}
	for _, f := range w.Resolved.Files {
		fresh := syntax.Parse(f.Source, &diag.List{})
		if !reflect.DeepEqual(fresh, f) {
			t.Errorf("the tree of %s has changed", f.Source.Name)
		}
	}
}
