// Package workbook writes and reads XLSX workbooks: sheets of texts, numbers and
// formulas, with heads, shading and fixed panes.
//
// How it goes. A Book collects cells in memory, so that they may come in any
// order, and writes each sheet row by row. What excelize packs is then packed
// again (pack.go): the parts in a fixed order, without times, the list of
// content types sorted; so the same cells give the same bytes. Texts are made
// harmless (harmless.go): none can run as a formula, break the XML or be taken
// for a sheet of another name. Read (read.go) gives the cells of any workbook
// back.
//
// In: cells. Out: bytes; and the other way round. The only importer of excelize;
// imports nothing of ours.
package workbook

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"github.com/xuri/excelize/v2"
)

// Look is how a cell is shown.
type Look struct {
	Bold     bool
	Head     bool // of a table: on grey
	Wrap     bool // long text on several lines
	Faint    bool // what only explains
	Decimals int  // of a number; none that is fixed when 0 or less, see Whole
	Whole    bool // a number without decimals
}

// Book is a workbook in the making.
type Book struct {
	sheets []*Sheet
	names  names
}

// New begins a workbook.
func New() *Book { return &Book{} }

// Sheet is a sheet in the making. Rows and columns are counted from 1.
type Sheet struct {
	Name       string
	cells      map[int]map[int]cell
	widths     map[int]float64
	shades     []string
	fixR, fixC int
	err        error
}

type cell struct {
	value   any
	formula string
	look    Look
}

// Sheet adds a sheet. The name is made one that a workbook may have; what it
// came to be is in the sheet's Name.
func (b *Book) Sheet(name string) *Sheet {
	s := &Sheet{Name: b.names.fit(name), cells: map[int]map[int]cell{}, widths: map[int]float64{}}
	b.sheets = append(b.sheets, s)
	return s
}

func (s *Sheet) set(row, col int, c cell) {
	if s.cells[row] == nil {
		s.cells[row] = map[int]cell{}
	}
	s.cells[row][col] = c
}

// Text puts a text into a cell, made harmless.
func (s *Sheet) Text(row, col int, text string, look Look) {
	s.set(row, col, cell{value: Harmless(text), look: look})
}

// Number puts a number into a cell.
func (s *Sheet) Number(row, col int, x float64, look Look) {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		s.err = fmt.Errorf("sheet %s: %s is no number that a cell can hold", s.Name, Ref(row, col))
		return
	}
	if x == 0 {
		x = 0 // not -0
	}
	s.set(row, col, cell{value: x, look: look})
}

// Formula puts a formula, without its =, into a cell, with the value that it is
// shown with until something recalculates it.
func (s *Sheet) Formula(row, col int, formula string, value float64, look Look) {
	if len(formula) > maxFormula {
		s.err = fmt.Errorf("sheet %s: the formula of %s is longer than a cell takes", s.Name, Ref(row, col))
		return
	}
	c := cell{formula: formula, look: look}
	if !math.IsNaN(value) && !math.IsInf(value, 0) {
		c.value = value
	}
	s.set(row, col, c)
}

// Width sets how many characters wide a column is.
func (s *Sheet) Width(col int, chars float64) { s.widths[col] = chars }

// Fix keeps the rows and columns before a cell in sight.
func (s *Sheet) Fix(row, col int) { s.fixR, s.fixC = row, col }

// Shade colours a block by its values: blue for the lowest, white between,
// orange for the highest, which the colour-blind tell apart too.
func (s *Sheet) Shade(row, col, lastRow, lastCol int) {
	s.shades = append(s.shades, Ref(row, col)+":"+Ref(lastRow, lastCol))
}

// Ref is the name of a cell: "C7".
func Ref(row, col int) string { return Column(col) + fmt.Sprint(row) }

// Column is the name of a column: "C".
func Column(col int) string {
	name := ""
	for ; col > 0; col = (col - 1) / 26 {
		name = string(rune('A'+(col-1)%26)) + name
	}
	return name
}

// Bytes gives the workbook's file.
func (b *Book) Bytes() ([]byte, error) {
	f := excelize.NewFile()
	defer f.Close()
	w := &writer{f: f, styles: map[Look]int{}, exact: map[string]map[string]string{}}
	for i, s := range b.sheets {
		if s.err != nil {
			return nil, s.err
		}
		if i == 0 {
			if err := f.SetSheetName("Sheet1", s.Name); err != nil {
				return nil, err
			}
		} else if _, err := f.NewSheet(s.Name); err != nil {
			return nil, err
		}
	}
	for i, s := range b.sheets {
		w.exact[fmt.Sprintf("xl/worksheets/sheet%d.xml", i+1)] = s.long()
		if err := w.sheet(s); err != nil {
			return nil, fmt.Errorf("sheet %s: %w", s.Name, err)
		}
	}
	if err := f.SetDocProps(&excelize.DocProperties{Creator: "fettle", LastModifiedBy: "fettle", Created: noTime, Modified: noTime}); err != nil {
		return nil, err
	}
	yes := true
	if err := f.SetCalcProps(&excelize.CalcPropsOptions{FullCalcOnLoad: &yes}); err != nil {
		return nil, err
	}
	buf, err := f.WriteToBuffer()
	if err != nil {
		return nil, err
	}
	return repack(buf.Bytes(), w.exact)
}

// maxFormula is how long a formula may be.
const maxFormula = 8192

// noTime stands where the format wants a time; a clock would change the bytes.
const noTime = "2000-01-01T00:00:00Z"

type writer struct {
	f      *excelize.File
	styles map[Look]int
	exact  map[string]map[string]string // by part and cell: see long
}

// long gives the numbers that excelize would cut to fifteen digits, by cell. The
// file holds as many as a number has; repack puts them in.
func (s *Sheet) long() map[string]string {
	out := map[string]string{}
	for row, cells := range s.cells {
		for col, c := range cells {
			x, ok := c.value.(float64)
			if text := strconv.FormatFloat(x, 'g', -1, 64); ok && len(text) > 15 {
				out[Ref(row, col)] = text
			}
		}
	}
	return out
}

func (w *writer) sheet(s *Sheet) error {
	for _, block := range s.shades {
		err := w.f.SetConditionalFormat(s.Name, block, []excelize.ConditionalFormatOptions{{Type: "3_color_scale", Criteria: "=",
			MinType: "min", MidType: "percentile", MaxType: "max", MinColor: "#7FB0DE", MidColor: "#FFFFFF", MaxColor: "#F2A65A"}})
		if err != nil {
			return err
		}
	}
	if err := w.onePageWide(s.Name); err != nil {
		return err
	}
	sw, err := w.f.NewStreamWriter(s.Name)
	if err != nil {
		return err
	}
	if s.fixR > 1 || s.fixC > 1 {
		panes := &excelize.Panes{Freeze: true, XSplit: s.fixC - 1, YSplit: s.fixR - 1, TopLeftCell: Ref(s.fixR, s.fixC), ActivePane: "bottomRight"}
		if err := sw.SetPanes(panes); err != nil {
			return err
		}
	}
	for _, col := range sorted(s.widths) {
		if err := sw.SetColWidth(col, col, s.widths[col]); err != nil {
			return err
		}
	}
	for _, row := range sorted(s.cells) {
		cols := sorted(s.cells[row])
		values := make([]any, cols[len(cols)-1])
		for _, col := range cols {
			c := s.cells[row][col]
			style, err := w.style(c.look)
			if err != nil {
				return err
			}
			values[col-1] = excelize.Cell{StyleID: style, Formula: c.formula, Value: c.value}
		}
		if err := sw.SetRow(Ref(row, 1), values); err != nil {
			return err
		}
	}
	return sw.Flush()
}

// onePageWide prints a sheet across, no wider than a page.
func (w *writer) onePageWide(name string) error {
	yes, across, one, any := true, "landscape", 1, 0
	if err := w.f.SetSheetProps(name, &excelize.SheetPropsOptions{FitToPage: &yes}); err != nil {
		return err
	}
	return w.f.SetPageLayout(name, &excelize.PageLayoutOptions{Orientation: &across, FitToWidth: &one, FitToHeight: &any})
}

func (w *writer) style(l Look) (int, error) {
	if l == (Look{}) {
		return 0, nil
	}
	if id, ok := w.styles[l]; ok {
		return id, nil
	}
	st := &excelize.Style{Font: &excelize.Font{Bold: l.Bold || l.Head, Family: "Calibri", Size: 11}}
	if l.Faint {
		st.Font.Color, st.Font.Italic = "#595959", true
	}
	if l.Head {
		st.Fill = excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{"#E7E6E6"}}
	}
	if l.Wrap {
		st.Alignment = &excelize.Alignment{WrapText: true, Vertical: "top"}
	}
	if format := l.format(); format != "" {
		st.CustomNumFmt = &format
	}
	id, err := w.f.NewStyle(st)
	if err == nil {
		w.styles[l] = id
	}
	return id, err
}

func (l Look) format() string {
	if l.Decimals <= 0 {
		if l.Whole {
			return "0"
		}
		return ""
	}
	format := []byte("0.")
	for range min(l.Decimals, 15) {
		format = append(format, '0')
	}
	return string(format)
}

func sorted[V any](m map[int]V) []int {
	keys := make([]int, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}
