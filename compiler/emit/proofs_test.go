package emit

import (
	"encoding/json"
	"math"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fettle/compiler/prove"
)

// proved is a workspace with limits that are to be proved, and what is said to have
// come of that.
func proved(t *testing.T, with ...prove.Verdict) (*work, Input) {
	w := text(t, `axis rpm [rpm] 1000..9000
given heat [degC] = 20 within -20..50
map fuel [mg] {
  rpm | 3000 5000 7000
      |   10   14   12
}
rule warmth { fuel *= 1 - (heat - 20 degC) / 900 K }
limit most: fuel <= 15 mg for heat -5 degC..45 degC
limit soft: fuel <= 14.5 mg for heat 260..320 K else warn
limit form: fuel == 0 mg or fuel >= 0.9 mg for heat -5..45
variant a { }
`)
	in := w.input("a")
	for i := range with {
		v := &with[i]
		v.Limit = w.prog.Limits[i]
		v.Unit = w.prog.Maps[0].Unit
		in.Proofs = append(in.Proofs, v)
	}
	return w, in
}

func refutedAt(heat, rpm, value, bound float64) prove.Verdict {
	return prove.Verdict{State: prove.Refuted, HasMargin: true, Margin: bound - value, Value: value, Bound: bound, Conditions: []prove.Condition{{Given: 0, Value: heat}}, At: []float64{rpm}, Boxes: 9}
}

func TestProofTexts(t *testing.T) {
	_, in := proved(t, refutedAt(-4, 5250, 15.25, 15),
		prove.Verdict{State: prove.Undecided, HasMargin: true, Margin: -0.123456},
		prove.Verdict{State: prove.Refuted, Conditions: []prove.Condition{{Given: 0, Value: 45}}, At: []float64{7000}})
	want := []string{
		"limit most is refuted at heat -4 degC, rpm 5250: 15.25 mg is 0.25 mg past the bound of 15 mg, within its `for heat -5 degC..45 degC` (tune.fettle:8)",
		"limit soft isn't proved; only that the bound is passed by no more than 0.1235 mg (`for heat 260..320 K`, tune.fettle:9)",
		"limit form is refuted: it doesn't hold at heat 45 degC, rpm 7000, within its `for heat -5..45` (tune.fettle:10)",
	}
	for i, v := range in.Proofs {
		if got := ProofText(in.Program, v); got != want[i] {
			t.Errorf("%s\nwant %s", got, want[i])
		}
	}
	for _, c := range []struct {
		v    prove.Verdict
		want string
	}{
		{prove.Verdict{State: prove.Proved, HasMargin: true, Margin: 1.23456}, "with at least 1.234 mg of room"},
		{prove.Verdict{State: prove.Proved}, "everywhere"},
		{prove.Verdict{State: prove.Undecided, HasMargin: true, Margin: math.Inf(-1), Problem: "it may leave its range"}, "it may leave its range; nothing could be shown"},
		{prove.Verdict{State: prove.Undecided, Problem: "it may leave its range"}, "it may leave its range; nothing could be shown"},
		{prove.Verdict{State: prove.Refuted, Problem: "the value isn't finite", Conditions: []prove.Condition{{Given: 0, Value: 45}}}, "is refuted at heat 45 degC: the value isn't finite, within"},
	} {
		c.v.Limit, c.v.Unit = in.Program.Limits[0], in.Program.Maps[0].Unit
		if got := ProofText(in.Program, &c.v); !strings.Contains(got, c.want) {
			t.Errorf("%s\nwant %s", got, c.want)
		}
	}
}

// A refuted limit fails its tune, and nothing else of a proof does; what isn't
// proved is a warning.
func TestRefutedTunesFail(t *testing.T) {
	fine := prove.Verdict{State: prove.Proved, HasMargin: true, Margin: 1}
	open := prove.Verdict{State: prove.Undecided, HasMargin: true, Margin: -1}
	broken := refutedAt(-4, 5000, 15.25, 15)
	for _, c := range []struct {
		name              string
		with              []prove.Verdict
		fails             bool
		reasons, warnings int
	}{
		{"proved", []prove.Verdict{fine, fine, fine}, false, 0, 0},
		{"undecided", []prove.Verdict{open, open, fine}, false, 0, 2},
		{"refuted", []prove.Verdict{broken, fine, open}, true, 1, 1},
		{"refuted, else warn", []prove.Verdict{fine, broken, fine}, false, 0, 1},
		{"refuted twice", []prove.Verdict{broken, broken, broken}, true, 2, 1},
	} {
		w, in := proved(t, c.with...)
		if in.Fails() != c.fails || len(Reasons(in)) != c.reasons || len(Warnings(in)) != c.warnings {
			t.Errorf("%s: fails %v, reasons %q, warnings %v", c.name, in.Fails(), Reasons(in), Warnings(in))
		}
		dir := filepath.Join(t.TempDir(), "out")
		f, err := NewFolder(dir, "", false)
		if err != nil {
			t.Fatal(err)
		}
		if err := f.Add(in); err != nil {
			t.Fatal(err)
		}
		if _, err := f.Close(nil); err != nil {
			t.Fatal(err)
		}
		files := tree(t, dir)
		if _, written := files["a/"+tuneFile]; written == c.fails {
			t.Errorf("%s: written %v", c.name, written)
		}
		if err := validate(compileSchema(t, IndexSchema), files[indexFile]); err != nil {
			t.Error(err)
		}
		_ = w
	}
}

func TestProofsInManifests(t *testing.T) {
	s := compileSchema(t, TuneSchema)
	for name, list := range map[string][]prove.Verdict{
		"proved":    {{State: prove.Proved, HasMargin: true, Margin: 1.23456789, Boxes: 3}, {State: prove.Proved}},
		"undecided": {{State: prove.Undecided, HasMargin: true, Margin: -0.5, Problem: "it may leave its range", Boxes: 256}},
		"unknown":   {{State: prove.Undecided, HasMargin: true, Margin: math.Inf(-1)}},
		"refuted":   {refutedAt(-4, 5250.5, 15.25, 15), {State: prove.Refuted, Problem: "the value isn't finite", Conditions: []prove.Condition{{Given: 0, Value: 45}}}},
	} {
		_, in := proved(t, list...)
		tables, err := Tables(in)
		if err != nil {
			t.Fatal(err)
		}
		m, err := Manifest(in, tables)
		if err != nil {
			t.Fatal(err)
		}
		if err := validate(s, string(m)); err != nil {
			t.Errorf("%s: %v\n%s", name, err, m)
		}
		var got Tune
		if err := json.Unmarshal(m, &got); err != nil {
			t.Fatal(err)
		}
		again, err := Encode(&got)
		if err != nil {
			t.Fatal(err)
		}
		same(t, name, string(again), string(m))
		p := got.Limits[0].Proof
		if p == nil || p.State != list[0].State.String() || p.For[0] != (Extent{"heat", -5, 45, "degC"}) {
			t.Errorf("%s: %+v", name, p)
		}
		switch name {
		case "proved":
			if *p.Margin != 1.234 || got.Limits[2].Proof != nil {
				t.Errorf("%s: %v %+v", name, *p.Margin, got.Limits[2].Proof)
			}
		case "unknown":
			if p.Margin != nil {
				t.Errorf("%s: %v", name, *p.Margin)
			}
		case "refuted":
			if b := p.Breach; *p.Margin != -0.25 || b.Conditions[0] != (Setting{"heat", -4, "degC"}) || b.At[0] != (Coordinate{"rpm", 5250.5, "rpm"}) || *b.Value != 15.25 {
				t.Errorf("%s: %+v", name, b)
			}
		}
	}
}

// What is said to be certain is never more than was shown, and hardly less.
func TestDownwards(t *testing.T) {
	for x, want := range map[float64]float64{1.23456: 1.234, -1.23456: -1.235, 0.00099999: 0.0009999, 9.9999: 9.999, -9.9999: -10, 1: 1, 0: 0, 123456: 123400} {
		if got := downwards(x); got != want {
			t.Errorf("%v: %v, want %v", x, got, want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-1e12, 1e12).Draw(t, "x")
		if y := downwards(x); y > x || x-y > 1.001e-3*math.Abs(x) {
			t.Fatalf("%v: %v", x, y)
		}
	})
}
