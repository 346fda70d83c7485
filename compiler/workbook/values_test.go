package workbook

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

// foreign is a workbook as someone else's program writes it.
func foreign(t testing.TB, fill func(f *excelize.File)) []byte {
	f := excelize.NewFile()
	defer f.Close()
	fill(f)
	b, err := f.WriteToBuffer()
	if err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func opened(t testing.TB, data []byte) *Grid {
	w, err := Open(data)
	if err != nil {
		t.Fatal(err)
	}
	defer w.Close()
	g, err := w.Sheet(w.Names()[0], 1000)
	if err != nil {
		t.Fatal(err)
	}
	return g
}

func TestKindsOfCells(t *testing.T) {
	g := opened(t, foreign(t, func(f *excelize.File) {
		style := func(s *excelize.Style) int { id, _ := f.NewStyle(s); return id }
		custom := func(s string) int { return style(&excelize.Style{CustomNumFmt: &s}) }
		for ref, v := range map[string]any{"A1": 0.1, "B1": "1,5", "C1": true, "D1": 45296, "E1": 0.05, "F1": 45296, "G1": 7, "H1": 45296.5, "I1": 0.071, "A3": "x"} {
			f.SetCellValue("Sheet1", ref, v)
		}
		f.SetCellStyle("Sheet1", "D1", "D1", style(&excelize.Style{NumFmt: 14}))
		f.SetCellStyle("Sheet1", "E1", "E1", style(&excelize.Style{NumFmt: 9}))
		f.SetCellStyle("Sheet1", "F1", "F1", custom(`d. mmm`))
		f.SetCellStyle("Sheet1", "G1", "G1", custom(`0.00" days"`))
		f.SetCellStyle("Sheet1", "H1", "H1", custom(`[h]:mm`))
		f.SetCellStyle("Sheet1", "I1", "I1", custom(`[Red]0.0 %`))
		f.SetCellFormula("Sheet1", "B3", "A1*2")
		f.MergeCell("Sheet1", "D5", "E6")
	}))
	want := []Value{{Kind: KindNumber, Text: "0.1"}, {Kind: KindText, Text: "1,5"}, {Kind: KindYesNo, Text: "yes"}, {Kind: KindDate, Text: "2024-01-05"},
		{Kind: KindNumber, Text: "0.05", Percent: true}, {Kind: KindDate, Text: "2024-01-05"}, {Kind: KindNumber, Text: "7"}, {Kind: KindDate, Text: "2024-01-05"},
		{Kind: KindNumber, Text: "0.071", Percent: true}}
	for i, v := range g.Rows[0] {
		if v != want[i] {
			t.Errorf("%s is %+v, want %+v", Ref(1, i+1), v, want[i])
		}
	}
	if got := g.Rows[2]; got[0].Text != "x" || got[1] != (Value{Kind: KindFault, Formula: true}) {
		t.Errorf("%+v", got)
	}
	if fmt.Sprint(g.Merged) != "[D5:E6]" {
		t.Errorf("%v", g.Merged)
	}
}

func TestSavedFormula(t *testing.T) {
	b := New()
	b.Sheet("a").Formula(1, 1, "1+1", 2, Look{})
	data, err := b.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	if got := opened(t, data).Rows[0][0]; got != (Value{Kind: KindNumber, Text: "2", Formula: true}) {
		t.Errorf("%+v", got)
	}
}

// What a file claims to hold is bounded before anything is made of it.
func TestBounds(t *testing.T) {
	far := foreign(t, func(f *excelize.File) { f.SetCellValue("Sheet1", "XFD1048576", 1) })
	w, err := Open(far)
	if err != nil {
		t.Fatal(err)
	}
	defer w.Close()
	if _, err := w.Sheet("Sheet1", 1_000_000); !errors.Is(err, ErrTooLarge) {
		t.Errorf("a cell at the far corner: %v", err)
	}
	var bomb bytes.Buffer
	z := zip.NewWriter(&bomb)
	part, _ := z.Create("xl/worksheets/sheet1.xml")
	for range MaxUnpacked>>20 + 1 {
		part.Write(make([]byte, 1<<20))
	}
	z.Close()
	if bomb.Len() > 1<<20 {
		t.Fatalf("the bomb has %d bytes", bomb.Len())
	}
	if _, err := Open(bomb.Bytes()); !errors.Is(err, ErrTooLarge) {
		t.Errorf("a bomb: %v", err)
	}
	for _, data := range []string{"", "PK\x03\x04", strings.Repeat("x", 100)} {
		if _, err := Open([]byte(data)); err == nil {
			t.Errorf("%q is a workbook", data)
		}
	}
}
