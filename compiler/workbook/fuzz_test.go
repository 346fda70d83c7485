package workbook

import (
	"archive/zip"
	"bytes"
	"testing"
)

// packed makes a workbook of its parts as they stand.
func packed(rows, shared, styles string) []byte {
	const head, ns = `<?xml version="1.0"?>`, "http://schemas.openxmlformats.org/"
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, part := range [][2]string{
		{"[Content_Types].xml", `<Types xmlns="` + ns + `package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/></Types>`},
		{"_rels/.rels", `<Relationships xmlns="` + ns + `package/2006/relationships"><Relationship Id="rId1" Type="` + ns + `officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>`},
		{"xl/workbook.xml", `<workbook xmlns="` + ns + `spreadsheetml/2006/main" xmlns:r="` + ns + `officeDocument/2006/relationships"><sheets><sheet name="One" sheetId="1" r:id="rId1"/></sheets></workbook>`},
		{"xl/_rels/workbook.xml.rels", `<Relationships xmlns="` + ns + `package/2006/relationships"><Relationship Id="rId1" Type="` + ns + `officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/><Relationship Id="rId2" Type="` + ns + `officeDocument/2006/relationships/sharedStrings" Target="sharedStrings.xml"/><Relationship Id="rId3" Type="` + ns + `officeDocument/2006/relationships/styles" Target="styles.xml"/></Relationships>`},
		{"xl/worksheets/sheet1.xml", `<worksheet xmlns="` + ns + `spreadsheetml/2006/main"><sheetData>` + rows + `</sheetData></worksheet>`},
		{"xl/sharedStrings.xml", `<sst xmlns="` + ns + `spreadsheetml/2006/main">` + shared + `</sst>`},
		{"xl/styles.xml", `<styleSheet xmlns="` + ns + `spreadsheetml/2006/main">` + styles + `</styleSheet>`},
	} {
		w, _ := z.Create(part[0])
		w.Write([]byte(head + part[1]))
	}
	z.Close()
	return b.Bytes()
}

// FuzzParts reads workbooks whose parts are any text: a result or an error, and no
// more cells than were asked for.
func FuzzParts(f *testing.F) {
	f.Add(`<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1"><v>3000</v></c></row><row r="2"><c r="A2"><v>10</v></c><c r="B2"><f>A2*2</f><v>20</v></c></row>`, `<si><t>throttle</t></si>`, "")
	f.Add(`<row r="7"><c r="C7" s="1"><v>44000</v></c><c r="D7" t="b"><v>1</v></c><c r="E7" t="e"><v>#DIV/0!</v></c><c t="inlineStr"><is><t>x</t></is></c></row>`, "", `<cellXfs count="2"><xf numFmtId="0"/><xf numFmtId="14"/></cellXfs>`)
	f.Add(`<row r="-1"><c r="XFD1048576" t="s"><v>99999999999</v></c></row></sheetData><mergeCells><mergeCell ref="A1:C1"/></mergeCells><sheetData>`, "<si/>", "<numFmts><numFmt numFmtId='200' formatCode='[h]:mm'/></numFmts>")
	f.Fuzz(func(t *testing.T, rows, shared, styles string) {
		readAll(t, packed(rows, shared, styles))
	})
}

// FuzzBytes reads any bytes as a workbook.
func FuzzBytes(f *testing.F) {
	f.Add(packed(`<row><c><v>1</v></c></row>`, "", ""))
	f.Add([]byte("PK\x03\x04"))
	f.Fuzz(func(t *testing.T, data []byte) { readAll(t, data) })
}

func readAll(t *testing.T, data []byte) {
	const most = 10_000
	if w, err := Open(data); err == nil {
		for _, name := range w.Names() {
			g, err := w.Sheet(name, most)
			if err != nil {
				continue
			}
			cells := 0
			for _, row := range g.Rows {
				cells += len(row)
			}
			if cells > most {
				t.Errorf("%d cells of a sheet of %d", cells, most)
			}
		}
		w.Close()
	}
	_, _ = Read(data)
}
