package workbook

import (
	"bytes"
	"errors"
	"fmt"
	"path"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"
)

// Kind is what a cell of someone else's workbook holds.
type Kind uint8

// The kinds of cells.
const (
	KindBlank Kind = iota
	KindNumber
	KindText
	KindYesNo
	KindDate  // a number that is shown as a day or a time
	KindFault // what a formula gives that has no value, as #DIV/0!
)

// Value is a cell of someone else's workbook.
type Value struct {
	Kind    Kind
	Text    string // a number in its shortest digits; a day as 2024-01-05; a fault by its name
	Percent bool   // a number that is shown as hundred times itself, with a per cent sign
	Formula bool   // the value is what a formula gave when the file was saved
}

// Grid is a sheet of someone else's workbook: its cells by row and column,
// counted from 0, rows ending at their last cell.
type Grid struct {
	Rows   [][]Value
	Merged []string // the ranges of joined cells, as "A1:C1"
}

// File is someone else's workbook. Its sheets are streamed and never held whole,
// since what a hostile one claims to hold has no bound but the limits here.
type File struct {
	f     *excelize.File
	parts map[string]string // the part of each sheet
	dates map[int]shownAs
}

// ErrTooLarge says that a workbook passes a bound of what is read, or that a
// sheet has more cells than were asked for.
var ErrTooLarge = errors.New("too large")

// Open reads a workbook's list of sheets. A file that would break the reader is
// an error as any other.
func Open(data []byte) (out *File, err error) {
	defer recovered(&err)
	if err := bounded(data); err != nil {
		return nil, err
	}
	f, err := excelize.OpenReader(bytes.NewReader(data), excelize.Options{UnzipSizeLimit: MaxUnpacked, UnzipXMLSizeLimit: MaxUnpacked})
	if err != nil {
		if strings.Contains(err.Error(), "unzip size") {
			return nil, ErrTooLarge
		}
		return nil, err
	}
	return &File{f: f, parts: parts(f), dates: map[int]shownAs{}}, nil
}

func recovered(err *error) {
	if p := recover(); p != nil {
		*err = fmt.Errorf("its parts don't fit together: %v", p)
	}
}

// Close frees what reading took.
func (w *File) Close() error { return w.f.Close() }

// Names lists the sheets in their order.
func (w *File) Names() []string { return w.f.GetSheetList() }

// parts finds the part of each sheet, by way of the workbook's list of relations.
func parts(f *excelize.File) map[string]string {
	out := map[string]string{}
	raw, ok := f.Pkg.Load("xl/_rels/workbook.xml.rels")
	data, isBytes := raw.([]byte)
	if !ok || !isBytes || f.WorkBook == nil {
		return out
	}
	targets := map[string]string{}
	for start := range elements(data, nil) {
		if start.Name.Local == "Relationship" {
			targets[attr(start, "Id")] = attr(start, "Target")
		}
	}
	for _, s := range f.WorkBook.Sheets.Sheet {
		if t := targets[s.ID]; strings.HasPrefix(t, "/") {
			out[s.Name] = t[1:]
		} else {
			out[s.Name] = path.Join("xl", t)
		}
	}
	return out
}

// Sheet reads the cells of a sheet: at most so many, those before them in their
// row and column counted.
func (w *File) Sheet(name string, most int) (out *Grid, err error) {
	defer recovered(&err)
	raw, ok := w.f.Pkg.Load(w.parts[name])
	data, isBytes := raw.([]byte)
	if !ok || !isBytes {
		return nil, fmt.Errorf("its sheet %q isn't in the file", name)
	}
	marks, err := scan(data, most)
	if err != nil {
		return nil, err
	}
	rows, err := w.f.GetRows(name, excelize.Options{RawCellValue: true})
	if err != nil {
		return nil, err
	}
	out = &Grid{Rows: make([][]Value, len(rows)), Merged: marks.merged}
	for r, row := range rows {
		out.Rows[r] = make([]Value, len(row))
		for c, text := range row {
			m, ok := marks.cells[[2]int{r + 1, c + 1}]
			switch {
			case ok && text != "":
				out.Rows[r][c] = w.value(text, m)
			case m.formula && !m.saved:
				out.Rows[r][c] = Value{Kind: KindFault, Formula: true} // it was never computed
			}
		}
	}
	return out, nil
}

// value tells what a cell holds from its text, its type and how it is shown.
func (w *File) value(text string, m mark) Value {
	v := Value{Kind: KindText, Text: text, Formula: m.formula}
	switch m.kind {
	case "b":
		v.Kind, v.Text = KindYesNo, "no"
		if text == "1" || strings.EqualFold(text, "true") {
			v.Text = "yes"
		}
	case "e":
		v.Kind = KindFault
	case "d":
		v.Kind = KindDate
	case "", "n":
		x, err := strconv.ParseFloat(text, 64)
		if err != nil {
			return v
		}
		v.Kind, v.Text = KindNumber, strconv.FormatFloat(x, 'g', -1, 64)
		switch w.shown(m.style) {
		case asDate:
			v.Kind = KindDate
			if day, err := excelize.ExcelDateToTime(x, false); err == nil {
				v.Text = day.Format("2006-01-02")
			}
		case asPercent:
			v.Percent = true
		}
	}
	return v
}

type shownAs uint8

const (
	asNumber shownAs = iota
	asDate
	asPercent
)

// shown tells how a style shows a number.
func (w *File) shown(style int) shownAs {
	if as, ok := w.dates[style]; ok {
		return as
	}
	as := asNumber
	if st, err := w.f.GetStyle(style); err == nil && st != nil {
		switch n := st.NumFmt; {
		case st.CustomNumFmt != nil:
			as = formatShows(*st.CustomNumFmt)
		case n == 9 || n == 10:
			as = asPercent
		case n >= 14 && n <= 22 || n >= 27 && n <= 36 || n >= 45 && n <= 47 || n >= 50 && n <= 58:
			as = asDate // the numbers of the formats that every workbook has
		}
	}
	w.dates[style] = as
	return as
}

// formatShows tells what a number's format shows, from its first part: what
// stands in quotes, brackets and behind a backslash is text or colour.
func formatShows(format string) shownAs {
	as := asNumber
	for i := 0; i < len(format) && format[i] != ';'; i++ {
		switch c := format[i]; c {
		case '"':
			if n := strings.IndexByte(format[i+1:], '"'); n >= 0 {
				i += n + 1
			}
		case '[':
			n := strings.IndexByte(format[i:], ']')
			if n < 0 {
				return as
			}
			if inner := strings.ToLower(format[i+1 : i+n]); inner != "" && strings.Trim(inner, inner[:1]) == "" && strings.Contains("hms", inner[:1]) {
				return asDate // [h]: hours that go on past a day
			}
			i += n
		case '\\', '_', '*':
			i++
		case '%':
			as = asPercent
		case 'y', 'Y', 'm', 'M', 'd', 'D', 'h', 'H', 's', 'S':
			return asDate
		}
	}
	return as
}
