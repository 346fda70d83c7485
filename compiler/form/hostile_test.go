package form

import (
	"encoding/json"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fettle/compiler/workbook"
)

// Whatever the names and texts are, tables keep their shape as TSV and CSV and
// nothing in them begins as a formula, but for negative numbers.
func TestHostileText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		for _, x := range hostile(t).Tables {
			lines := strings.Split(strings.TrimSuffix(string(x.TSV()), "\n"), "\n")
			if len(lines) != 3 || lines[1] != "1\t-1\t2.5" || lines[2] != "2\t0\t100000000000000000000" || !strings.HasSuffix(lines[0], "\t-3\t4") {
				t.Fatalf("%q", lines)
			}
			corner := strings.TrimSuffix(lines[0], "\t-3\t4")
			if strings.HasPrefix(corner, `"`) {
				corner = strings.ReplaceAll(strings.TrimSuffix(corner[1:], `"`), `""`, `"`)
			} else if strings.Contains(corner, "\t") {
				t.Fatalf("the corner %q isn't one field", corner)
			}
			if start := strings.TrimLeft(corner, " "); start != "" && strings.ContainsRune("=+-@", rune(start[0])) {
				t.Fatalf("the corner is %q", corner)
			}
			if csv := string(x.CSV()); strings.Count(csv, "\n") != 3 {
				t.Fatalf("%q", csv)
			}
		}
	})
}

// Every text comes back from JSON as it was, and the workbook has a sheet for
// each table and runs nothing.
func TestHostileJSONAndXLSX(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := hostile(t)
		files, err := jsonFile(c)
		if err != nil {
			t.Fatal(err)
		}
		var read Tables
		if err := json.Unmarshal(files[0].Data, &read); err != nil {
			t.Fatalf("%v: %s", err, files[0].Data)
		}
		if want := strings.ToValidUTF8(c.About.Name, "\uFFFD"); read.Tune != want || len(read.Tables) != len(c.Tables) {
			t.Fatalf("%q, want %q", read.Tune, want)
		}
		if files, err = xlsx(c); err != nil {
			t.Fatal(err)
		}
		pages, err := workbook.Read(files[0].Data)
		if err != nil {
			t.Fatal(err)
		}
		if len(pages) != len(c.Tables)+1 {
			t.Fatalf("%d sheets", len(pages))
		}
		for _, p := range pages {
			for _, row := range p.Rows {
				for _, cell := range row {
					if cell.Formula != "" {
						t.Fatalf("%q runs", cell.Formula)
					}
				}
			}
		}
	})
}
