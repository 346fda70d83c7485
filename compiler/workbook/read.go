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

// maxUnzipped is how large a workbook's parts may be: more than a sheet of maps
// ever needs, and less than harms a machine.
const maxUnzipped = 1 << 28

// Read gives the sheets of a workbook in their order.
func Read(data []byte) ([]Page, error) {
	f, err := excelize.OpenReader(bytes.NewReader(data), excelize.Options{UnzipSizeLimit: maxUnzipped, UnzipXMLSizeLimit: maxUnzipped})
	if err != nil {
		return nil, err
	}
	defer f.Close()
	var out []Page
	for _, name := range f.GetSheetList() {
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
