package emit

import (
	"bytes"
	"math"
	"os"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"pgregory.net/rapid"
)

// The manifests and entries that are written by hand are what encoding/json gives,
// laid out: of tunes of every example, with and without tables.
func TestManifestsAreAsEncoded(t *testing.T) {
	dirs, err := os.ReadDir("../../examples")
	if err != nil {
		t.Fatal(err)
	}
	works := []*work{data(t, "shed")}
	for _, d := range dirs {
		if d.IsDir() {
			works = append(works, example(t, d.Name()))
		}
	}
	compared := 0
	for _, w := range works {
		for i, tune := range w.plan.Tunes {
			if i%max(1, len(w.plan.Tunes)/40) != 0 {
				continue // of a large example some
			}
			in := w.compute(tune)
			in.Formats = [][]Format{nil, {lines}, {lines, {Name: CSVFormat}}}[compared%3]
			if in.Fails() {
				e := failed(&in)
				sameEntry(t, &e)
				continue
			}
			var s scratch
			if err := s.files(&in); err != nil {
				t.Fatal(err)
			}
			e := s.written(&in)
			sameEntry(t, &e)
			m, err := about(&in, s.list, s.sums)
			if err != nil {
				t.Fatal(err)
			}
			got, err := m.encode(nil)
			if err != nil {
				t.Fatal(err)
			}
			want, err := Encode(&m.Tune)
			if err != nil {
				t.Fatal(err)
			}
			same(t, in.Tune.Name, string(want), string(got))
			compared++
		}
	}
	if compared < 50 {
		t.Errorf("only %d manifests were compared", compared)
	}
}

// sameEntry compares an entry with what is written of it in an index.
func sameEntry(t testing.TB, e *Entry) {
	t.Helper()
	got, err := e.indexed()
	if err != nil {
		t.Fatal(err)
	}
	want, err := Encode(&Index{Tunes: []Entry{*e}})
	if err != nil {
		t.Fatal(err)
	}
	_, text, _ := strings.Cut(string(want), "\"tunes\": [\n    ")
	if !strings.HasPrefix(text, string(got.text)+"\n  ],\n") {
		t.Fatalf("an entry is written as\n%s\nand encoded in\n%s", got.text, want)
	}
}

func hostile() *rapid.Generator[string] {
	return rapid.OneOf(
		rapid.SampledFrom([]string{"", "a", "fuel", `"[{,:}]\`, "a\nb\tc\x00\x1f\x7f", "é ∆ <&>\u2028\u2029", "\xff\xfe bad", "\b\f\r", strings.Repeat("long ", 20), strings.Repeat("x", 139)}),
		rapid.String(), rapid.StringN(60, 130, -1))
}

func number() *rapid.Generator[Number] {
	return rapid.Map(rapid.OneOf(rapid.Float64Range(-1e9, 1e9), rapid.Float64Range(-1e300, 1e300), rapid.Map(rapid.IntRange(-1<<60, 1<<60), func(n int) float64 { return float64(n) }),
		rapid.SampledFrom([]float64{0, math.Copysign(0, -1), 5e-324, 1 << 53, 1<<53 - 1, 0.1, 1e21, 1e22})), func(x float64) Number { return Number(x) })
}

// What is written piece by piece is what encoding/json gives, whatever the values.
func TestPiecesAreAsEncoded(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text, count := func(what string) string { return hostile().Draw(t, what) }, func(what string) int { return rapid.IntRange(-5, 1e6).Draw(t, what) }
		num := func(what string) *Number {
			if rapid.Bool().Draw(t, what+" is null") {
				return nil
			}
			x := number().Draw(t, what)
			return &x
		}
		place := Place{text("file"), count("line")}
		condition := Condition{Name: text("name"), Kind: text("kind"), Unit: text("unit"), Catalog: text("catalog"), Text: text("text"), Set: rapid.Bool().Draw(t, "set"),
			Value: rapid.OneOf(number().AsAny(), rapid.Bool().AsAny(), hostile().AsAny()).Draw(t, "value")}
		adjustment := Adjustment{text("map"), text("text"), place, count("touched"), count("changed")}
		leftOut := LeftOut{text("name"), place, text("doc"), text("reason")}
		limit := Limit{Name: text("name"), Place: place, Doc: text("doc"), Text: text("text"), Where: text("where"), When: text("when"), Mode: text("mode"), State: text("state"), Reason: text("reason"),
			Maps: rapid.SliceOfN(hostile(), 0, 4).Draw(t, "maps"), Cells: count("cells"), Bad: count("bad")}
		if rapid.Bool().Draw(t, "worst") {
			limit.Worst = &Worst{At: []Coordinate{}, Value: num("value"), Bound: num("bound"), Margin: num("margin"), Unit: text("unit")}
			for range rapid.IntRange(0, 2).Draw(t, "axes") {
				limit.Worst.At = append(limit.Worst.At, Coordinate{text("axis"), number().Draw(t, "at"), text("unit")})
			}
			if rapid.Bool().Draw(t, "blame") {
				limit.Worst.Blame = &Blame{text("by"), []Push{{text("by"), &place, 1, 2}}}
			}
		}
		one := Check{text("title"), text("with"), place, text("text"), true, num("got"), num("want"), text("unit"), text("problem")}
		revision := text("revision")
		source := SourceInfo{Digest: text("digest"), Revision: &revision}
		for _, c := range []struct {
			what  string
			value any
			write func(w *writer)
		}{
			{"condition", struct {
				X []Condition `json:"conditions"`
			}{[]Condition{condition, condition}}, func(w *writer) { w.conditions([]Condition{condition, condition}) }},
			{"source", struct {
				X SourceInfo `json:"source"`
			}{source}, func(w *writer) { w.source(&source) }},
			{"adjustments", struct {
				X []Adjustment `json:"x"`
			}{[]Adjustment{adjustment}}, func(w *writer) { w.key("x"); w.adjustments([]Adjustment{adjustment}) }},
			{"adjustments, by heads", [][][][]Adjustment{{{{adjustment, adjustment}}}}, func(w *writer) {
				head := &stepText{adjustmentHead(&adjustment, false), adjustmentHead(&adjustment, true)}
				w.next()
				w.block('[')
				w.next()
				w.block('[')
				w.next()
				w.block('[')
				w.did(head, &adjustment)
				w.did(head, &adjustment)
				w.endBlock(']')
				w.endBlock(']')
				w.endBlock(']')
			}},
			{"left out", []LeftOut{leftOut}, func(w *writer) { w.leftOut(&leftOut) }},
			{"limit", []Limit{limit, limit}, func(w *writer) { w.limit(&limit); w.limit(&limit) }},
			{"check", []Check{one}, func(w *writer) { w.check(&one) }},
		} {
			want, err := Encode(c.value)
			if err != nil {
				t.Fatal(err)
			}
			w := newWriter(nil)
			w.block(want[0])
			c.write(w)
			w.endBlock(want[len(want)-2])
			if got := string(w.b) + "\n"; got != string(want) || w.err != nil {
				t.Fatalf("%s is written as\n%s\nand encoded as\n%s", c.what, got, want)
			}
		}
		e := Entry{Name: text("name"), Status: text("status"), Conditions: []Condition{condition}, SourceDigest: text("source digest"), Reasons: rapid.SliceOfN(hostile(), 0, 3).Draw(t, "reasons")}
		got, err := e.indexed()
		if err != nil {
			t.Fatal(err)
		}
		want, err := Encode(&Index{Tunes: []Entry{e}})
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(string(want), "\n    "+string(got.text)+"\n  ],\n") {
			t.Fatalf("an entry is written as\n%s\nand encoded in\n%s", got.text, want)
		}
	})
}

// A list of tables that is found by the layout is the one that is read as JSON.
func TestPlainList(t *testing.T) {
	plain, other := 0, 0
	for _, w := range []*work{data(t, "shed"), example(t, "first"), example(t, "lantern"), example(t, "sizing")} {
		for _, in := range w.inputs(2, "*") {
			for _, formats := range [][]Format{nil, {lines}, {lines, {Name: CSVFormat}}} {
				if in.Formats = formats; in.Fails() {
					continue
				}
				list, err := files(in)
				if err != nil {
					t.Fatal(err)
				}
				manifest := list[len(list)-1].Data
				got, ok := plainList(manifest)
				if !ok {
					other++
					continue
				}
				plain++
				// A space makes it another layout, and the same list.
				fsys := fstest.MapFS{"tune.json": {Data: append([]byte(" "), manifest...)}}
				if want, err := tablesListed(new(bytes.Buffer), fsys, "tune.json"); err != nil || !slices.Equal(got, want) {
					t.Errorf("%s: %v, and as JSON %v, %v", in.Tune.Name, got, want, err)
				}
			}
		}
	}
	if plain < 5 || other < 10 {
		t.Errorf("%d lists were found by the layout, %d not", plain, other)
	}
}
