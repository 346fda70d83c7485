package importer

import (
	"errors"
	"slices"
	"strings"

	"fettle/compiler/workbook"
	"fettle/lang/diag"
	"fettle/lang/source"
)

// workbook makes cells of a sheet. Spans point into a text that is made of the
// sheet, a line for each of its rows, so that a message shows the row.
func (j *job) workbook(data []byte) bool {
	w, err := workbook.Open(data)
	if errors.Is(err, workbook.ErrTooLarge) {
		return j.refuse("the workbook %v", err)
	}
	if err != nil {
		return j.refuse("the file is a zip archive, and no workbook that can be read: %v", err)
	}
	defer w.Close()
	names := w.Names()
	name, ok := j.chooseSheet(names)
	if !ok {
		return false
	}
	j.dial.Form, j.dial.Sheet = "workbook", name
	grid, err := w.Sheet(name, MaxCells)
	if errors.Is(err, workbook.ErrTooLarge) {
		return j.refuse("the sheet %s has over %d cells, the most that is read", quote(name), MaxCells)
	}
	if err != nil {
		return j.refuse("the sheet %s can't be read: %v", quote(name), err)
	}
	if len(grid.Merged) > 0 {
		d := j.errs.Add("E907", source.Span{File: j.file}, "the sheet %s has joined cells: %s", quote(name), diag.Clean(listed(grid.Merged)))
		d.Hint("undo the joining, so that every cell stands for itself")
		return false
	}
	j.manySheets = len(names) > 1
	return j.fromGrid(grid)
}

func listed(names []string) string {
	const most = 20
	if len(names) > most {
		return strings.Join(names[:most], ", ") + ", …"
	}
	return strings.Join(names, ", ")
}

func (j *job) chooseSheet(names []string) (string, bool) {
	want := j.opt.Sheet
	switch {
	case len(names) == 0:
		return "", j.refuse("the workbook has no sheets")
	case want != "" && slices.Contains(names, want):
		return want, true
	case want == "" && len(names) == 1:
		return names[0], true
	}
	msg := "the workbook has %d sheets"
	if want != "" {
		msg = "the workbook has no sheet " + strings.ReplaceAll(quote(want), "%", "%%") + " among its %d"
	}
	d := j.errs.Add("E910", source.Span{File: j.file}, msg, len(names))
	d.Hint("`--sheet` names one of %s", diag.Clean(listed(names)))
	return "", false
}

func (j *job) fromGrid(grid *workbook.Grid) bool {
	var b strings.Builder
	type place struct{ from, to int }
	var places [][]place
	for _, row := range grid.Rows {
		var at []place
		for c, v := range row {
			if c > 0 {
				b.WriteByte('\t')
			}
			from := b.Len()
			b.WriteString(strings.Map(func(r rune) rune {
				if r == '\n' || r == '\r' || r == '\t' {
					return ' '
				}
				return r
			}, v.Text))
			at = append(at, place{from, b.Len()})
		}
		if b.Len() > MaxFile {
			return j.refuse("the sheet holds over %d bytes of text, the most that is read", MaxFile)
		}
		b.WriteByte('\n')
		places = append(places, at)
	}
	j.file = source.New(j.opt.File+" ("+j.dial.Sheet+")", b.String())
	formulas, asText := 0, 0
	for r, row := range grid.Rows {
		out := make([]cell, len(row))
		for c, v := range row {
			at := places[r][c]
			x := cell{text: strings.TrimSpace(v.Text), span: source.Span{File: j.file, From: at.from, To: at.to}, row: r + 1, col: c + 1, formula: v.Formula}
			switch v.Kind {
			case workbook.KindNumber:
				x.stored, x.number, x.percent = true, plain(v.Text), v.Percent
				if v.Percent {
					x.number = hundredfold(x.number)
					x.text = x.number + "%"
				}
			case workbook.KindDate:
				x.date = true
			case workbook.KindFault:
				x.fault = true
			case workbook.KindText:
				if looksNumber(x.text) {
					asText++
				}
			}
			if v.Formula {
				formulas++
			}
			out[c] = x
		}
		j.rows = append(j.rows, out)
	}
	if formulas > 0 {
		j.notef("%s: what was computed when the workbook was saved was taken", count(formulas, "cell")+" with a formula")
	}
	if asText > 0 {
		j.notef("%s: they were read as numbers", count(asText, "number")+" stored as text")
	}
	if strings.TrimSpace(b.String()) == "" {
		return j.refuse("the sheet %s is empty", quote(j.dial.Sheet))
	}
	return true
}
