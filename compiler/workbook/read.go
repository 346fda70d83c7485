package workbook

import (
	"bytes"
	"strconv"

	"github.com/xuri/excelize/v2"
)

// Cell is a cell that was read.
type Cell struct {
	Text    string // as it is kept in the file, not as it is shown
	Number  float64
	IsNum   bool
	Formula string
}

// Page is a sheet that was read: its cells by row and column, counted from 0.
// Rows end at their last cell.
type Page struct {
	Name string
	Rows [][]Cell
}

// maxCells is how many cells a sheet may have, those before them in their row and
// column counted.
const maxCells = 1_100_000

// Read gives the sheets of a workbook in their order.
func Read(data []byte) (out []Page, err error) {
	defer recovered(&err)
	if err := bounded(data); err != nil {
		return nil, err
	}
	f, err := excelize.OpenReader(bytes.NewReader(data), excelize.Options{UnzipSizeLimit: MaxUnpacked, UnzipXMLSizeLimit: MaxUnpacked})
	if err != nil {
		return nil, err
	}
	defer f.Close()
	shown := parts(f)
	for _, name := range f.GetSheetList() {
		// Looked at before it is laid out: one cell in the far corner makes a sheet huge.
		raw, _ := f.Pkg.Load(shown[name])
		if data, ok := raw.([]byte); ok {
			if _, err := scan(data, maxCells); err != nil {
				return nil, err
			}
		}
		rows, err := f.GetRows(name, excelize.Options{RawCellValue: true})
		if err != nil {
			return nil, err
		}
		page := Page{Name: name, Rows: make([][]Cell, len(rows))}
		for r, row := range rows {
			page.Rows[r] = make([]Cell, len(row))
			for c, text := range row {
				at := &page.Rows[r][c]
				at.Text = text
				ref := Ref(r+1, c+1)
				if at.Formula, err = f.GetCellFormula(name, ref); err != nil {
					return nil, err
				}
				kind, err := f.GetCellType(name, ref)
				if err != nil {
					return nil, err
				}
				if kind == excelize.CellTypeUnset || kind == excelize.CellTypeNumber {
					x, err := strconv.ParseFloat(text, 64)
					at.Number, at.IsNum = x, err == nil
				}
			}
		}
		out = append(out, page)
	}
	return out, nil
}
