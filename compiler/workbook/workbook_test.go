package workbook

import (
	"bytes"
	"strings"
	"testing"
	"unicode/utf16"

	"pgregory.net/rapid"
)

func sample(t testing.TB) []byte {
	b := New()
	s := b.Sheet("fuel")
	s.Text(1, 1, "throttle", Look{Head: true})
	s.Number(1, 2, -2.5, Look{Decimals: 2})
	s.Formula(2, 2, "B1*2", -5, Look{Whole: true})
	s.Formula(2, 3, "1/0", nan(), Look{})
	s.Text(3, 1, "=1+1", Look{Wrap: true, Faint: true})
	s.Shade(1, 2, 2, 2)
	s.Fix(2, 2)
	s.Width(1, 30)
	b.Sheet("fuel").Text(1, 1, "-3.5", Look{})
	b.Sheet("c").Number(5, 30, 7, Look{})
	data, err := b.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func nan() float64 { var zero float64; return zero / zero }

// The same cells give the same bytes, however often.
func TestSameBytes(t *testing.T) {
	first := sample(t)
	for range 10 {
		if !bytes.Equal(first, sample(t)) {
			t.Fatal("the bytes differ")
		}
	}
}

func TestReadBack(t *testing.T) {
	pages, err := Read(sample(t))
	if err != nil {
		t.Fatal(err)
	}
	if len(pages) != 3 || pages[0].Name != "fuel" || pages[1].Name != "fuel (2)" || pages[2].Name != "c" {
		t.Fatalf("%+v", pages)
	}
	p := pages[0].Rows
	if p[0][0].Text != "throttle" || p[0][0].IsNum || p[0][1].Number != -2.5 || !p[0][1].IsNum {
		t.Errorf("%+v", p[0])
	}
	if got := p[1][1]; got.Formula != "B1*2" || got.Number != -5 || !got.IsNum {
		t.Errorf("%+v", got)
	}
	if got := p[2][0]; got.Text != "'=1+1" || got.Formula != "" {
		t.Errorf("%+v", got)
	}
	if got := pages[1].Rows[0][0]; got.Text != "-3.5" || got.IsNum {
		t.Errorf("%+v", got)
	}
	if got := pages[2].Rows[4][29]; got.Number != 7 {
		t.Errorf("%+v", got)
	}
}

// Names and texts of any kind make a workbook that reads back, with a sheet for
// each, no formula in it, and every name within what a workbook may have.
func TestAnyText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		texts := rapid.SliceOfN(rapid.OneOf(rapid.String(), rapid.StringMatching(`[=+\-@\[\]:*?/\\' a-c]{0,40}`)), 1, 6).Draw(t, "texts")
		b := New()
		for _, text := range texts {
			b.Sheet(text).Text(1, 1, "x"+text, Look{})
			b.Sheet(text).Text(1, 1, text, Look{})
		}
		data, err := b.Bytes()
		if err != nil {
			t.Fatal(err)
		}
		pages, err := Read(data)
		if err != nil {
			t.Fatal(err)
		}
		if len(pages) != 2*len(texts) {
			t.Fatalf("%d sheets of %d", len(pages), 2*len(texts))
		}
		seen := map[string]bool{}
		for i, p := range pages {
			if seen[strings.ToLower(p.Name)] || p.Name == "" || len(utf16.Encode([]rune(p.Name))) > maxName || strings.ContainsAny(p.Name, `[]:*?/\'`) {
				t.Fatalf("a sheet is called %q", p.Name)
			}
			seen[strings.ToLower(p.Name)] = true
			got := ""
			if len(p.Rows) > 0 && len(p.Rows[0]) > 0 {
				got = p.Rows[0][0].Text
				if p.Rows[0][0].Formula != "" {
					t.Fatalf("%q runs", got)
				}
			}
			want := Harmless(texts[i/2])
			if i%2 == 0 {
				want = Harmless("x" + texts[i/2])
			}
			if got != want {
				t.Fatalf("%q came back as %q", want, got)
			}
		}
	})
}

// Every number comes back to the last digit.
func TestExactNumbers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		xs := rapid.SliceOfN(rapid.Float64(), 1, 20).Draw(t, "xs")
		b := New()
		s := b.Sheet("a")
		for i, x := range xs {
			s.Number(i+1, 1, x, Look{})
			s.Formula(i+1, 2, "A1*1", x, Look{})
		}
		data, err := b.Bytes()
		if err != nil {
			t.Fatal(err)
		}
		pages, err := Read(data)
		if err != nil {
			t.Fatal(err)
		}
		for i, x := range xs {
			for _, c := range pages[0].Rows[i] {
				if !c.IsNum || c.Number != x {
					t.Fatalf("%v came back as %q", x, c.Text)
				}
			}
		}
	})
}

func TestHarmless(t *testing.T) {
	for in, want := range map[string]string{
		"plain": "plain", "-5": "-5", "-0.25": "-0.25", "+3": "+3", "=1": "'=1", "@SUM(A1)": "'@SUM(A1)", "-5 deg of spark": "'-5 deg of spark",
		"\t=cmd": "' =cmd", "a=b": "a=b", "": "", "\x00=2": "'=2", "-": "'-",
	} {
		if got := Harmless(in); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
}

func TestColumn(t *testing.T) {
	for n, want := range map[int]string{1: "A", 26: "Z", 27: "AA", 52: "AZ", 702: "ZZ", 703: "AAA"} {
		if got := Column(n); got != want {
			t.Errorf("%d: %s, want %s", n, got, want)
		}
	}
}

func TestNotANumber(t *testing.T) {
	b := New()
	b.Sheet("a").Number(1, 1, nan(), Look{})
	if _, err := b.Bytes(); err == nil {
		t.Error("a cell holds what is no number")
	}
}
