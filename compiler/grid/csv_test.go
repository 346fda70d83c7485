package grid

import (
	"bytes"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
)

var (
	throttle = AxisHead{"throttle", "%"}
	rpm      = AxisHead{"rpm", "rpm"}
)

func TestAppendCSV(t *testing.T) {
	two := &Table{
		Rows:  []float64{0, 12.5, 100},
		Cols:  []float64{3000, 14000},
		Cells: []float64{1.1, 1.2, 3, 3.4567, 8.2, -0.001},
	}
	for _, c := range []struct {
		name       string
		t          *Table
		rows, cols AxisHead
		res        string
		want       string
	}{
		{"two axes to 0.01", two, throttle, rpm, "0.01",
			"throttle [%] \\ rpm [rpm],3000,14000\n0,1.10,1.20\n12.5,3.00,3.46\n100,8.20,0.00\n"},
		{"two axes to six digits", two, throttle, AxisHead{"gear", ""}, "",
			"throttle [%] \\ gear,3000,14000\n0,1.1,1.2\n12.5,3,3.4567\n100,8.2,-0.001\n"},
		{"one axis", &Table{Cols: []float64{3000, 5000}, Cells: []float64{3.1, 2.9}}, AxisHead{}, rpm, "",
			"rpm [rpm],3000,5000\n,3.1,2.9\n"},
		{"quotes, and breakpoints in full", &Table{Cols: []float64{-0.1, 1e-7, 1e21}, Cells: []float64{1, 2, 3}}, AxisHead{}, AxisHead{`a,"b"`, ""}, "",
			"\"a,\"\"b\"\"\",-0.1,0.0000001,1000000000000000000000\n,1,2,3\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := AppendCSV([]byte("before"), c.t, c.rows, c.cols, mustRes(t, c.res))
			if string(got) != "before"+c.want {
				t.Errorf("got\n%s\nwant\n%s", got, c.want)
			}
		})
	}
}

func TestReadCSV(t *testing.T) {
	want := &CSVTable{
		RowHead: throttle, ColHead: rpm,
		Table: Table{
			Rows:  []float64{0, 25},
			Cols:  []float64{3000, 5000, 7000},
			Cells: []float64{1.1, -1.2, 0, 3, 0.034, 4},
		},
		Given:    []bool{true, true, false, true, true, true},
		CellLine: []int{2, 3},
	}
	for name, text := range map[string]string{
		"plain":           "throttle [%] \\ rpm [rpm],3000,5000,7000\n0,1.1,-1.2,\n25,3,3.4e-2,4\n",
		"CRLF, no end":    "throttle [%] \\ rpm [rpm],3000,5000,7000\r\n0,1.1,-1.2,\r\n25,3,3.4e-2,4",
		"mark and blanks": "\ufeffthrottle [%] \\ rpm [rpm],3000,5000,7000\n0,1.1,-1.2, \n25,3,3.4e-2,4\n\n  \n\r\n",
		"underscore":      "throttle [%] \\ rpm [rpm],3000,5000,7000\n0,1.1,-1.2,_\n25,3,3.4e-2,4\n",
		"quoted, spaced":  "\"throttle[%]\\rpm  [ rpm ]\", 3000,\"5000\",7000\n0,+1.1,\"-1.2\",\"\"\n\t25 ,3,3.4e-02,4\n",
	} {
		got, errs := ReadCSV([]byte(text))
		if len(errs) > 0 || !reflect.DeepEqual(got, want) {
			t.Errorf("%s: got %+v, %v", name, got, errs)
		}
	}

	one, errs := ReadCSV([]byte("gear,1,2,3\n,3.1,,2.9\n"))
	wantOne := &CSVTable{
		ColHead:  AxisHead{Name: "gear"},
		Table:    Table{Cols: []float64{1, 2, 3}, Cells: []float64{3.1, 0, 2.9}},
		Given:    []bool{true, false, true},
		CellLine: []int{2},
	}
	if len(errs) > 0 || !reflect.DeepEqual(one, wantOne) {
		t.Errorf("one axis: got %+v, %v", one, errs)
	}
}

// Each fault with its place, the cell's text, what is wrong and what to write.
func TestReadCSVRefuses(t *testing.T) {
	const head = "throttle [%] \\ rpm [rpm],3000,5000\n"
	for _, c := range []struct{ name, text, want string }{
		{"empty", "", `line 1, column 1: the file is empty`},
		{"only blank lines", "\ufeff\n\n", `line 1, column 1: the file is empty`},
		{"decimal comma", head + "0,\"3,1\",2\n", "line 2, column 3: a decimal comma (\"3,1\"): write `3.1`"},
		{"ambiguous comma", head + "0,\"3,125\",2\n", "line 2, column 3: a comma that may be a decimal comma or a thousands mark (\"3,125\"): write a dot before decimals, and no thousands mark"},
		{"comma after a nought", head + "0,\"0,125\",2\n", "line 2, column 3: a decimal comma (\"0,125\"): write `0.125`"},
		{"thousands comma", head + "0,\"3,125.5\",2\n", "line 2, column 3: a thousands mark (\"3,125.5\"): write `3125.5`"},
		{"thousands dot", head + "0,\"3.125,5\",2\n", "line 2, column 3: a decimal comma and thousands marks (\"3.125,5\"): write `3125.5`"},
		{"thousands dots", head + "0,1.000.000,2\n", "line 2, column 3: a number with several dots (\"1.000.000\"): write one dot, before the decimals"},
		{"thousands space", head + "0,1 000,2\n", "line 2, column 3: a thousands mark (\"1 000\"): write `1000`"},
		{"thousands no-break space", head + "0,2,1\u00a0000\n", "line 2, column 5: a thousands mark (\"1\\u00a0000\"): write `1000`"},
		{"thousands quote", head + "0,1'000,2\n", "line 2, column 3: a thousands mark (\"1'000\"): write `1000`"},
		{"unquoted decimal comma", head + "0,3,1,2\n", `line 2, column 7: this line has 4 cells, the first line has 3 ("2"): if there is a decimal comma, write a dot`},
		{"semicolons", "throttle \\ rpm;3000;5000\n0;1;2\n", `line 1, column 1: the cells stand between semicolons ("throttle \\ rpm;3000;5000"): save the file as CSV with commas between the cells and dots in the numbers`},
		{"semicolons and decimal commas", "throttle \\ rpm;0,5;1,5\n0;1,1;2,2\n", `line 1, column 1: the cells stand between semicolons ("throttle \\ rpm;0"): save the file as CSV with commas between the cells and dots in the numbers`},
		{"tabs", "throttle \\ rpm\t3000\t5000\n0\t1\t2\n", `line 1, column 1: the cells stand between tabs ("throttle \\ rpm\t3000\t5000"): save the file as CSV with commas between the cells and dots in the numbers`},
		{"ragged", head + "0,1\n25,1,2\n", `line 2, column 3: this line has 2 cells, the first line has 3 ("1")`},
		{"blank line", head + "0,1,2\n\n25,1,2\n", `line 3, column 1: a blank line among the rows: take the line out`},
		{"spreadsheet's empty row", head + "0,1,2\n,,\n", `line 3, column 1: a row without its breakpoint`},
		{"no column breakpoint", "throttle \\ rpm,3000,\n0,1,2\n", `line 1, column 21: a column without its breakpoint`},
		{"nan", head + "0,nan,-Inf\n", "line 2, column 3: not a finite number (\"nan\")\nline 2, column 7: not a finite number (\"-Inf\")"},
		{"hex", head + "0,0x1p4,2\n", `line 2, column 3: a hexadecimal number ("0x1p4"): write it in decimal`},
		{"too large", head + "0,1e999,2\n", `line 2, column 3: too large a number ("1e999")`},
		{"capital E", head + "0,1E-05,2\n", "line 2, column 3: an exponent with a capital E (\"1E-05\"): write `1e-05`"},
		{"minus sign", head + "0,\u22123.5,2\n", "line 2, column 3: a typographic minus (\"\u22123.5\"): write `-3.5`"},
		{"bare dots", head + "0,-.5,5.\n", "line 2, column 3: a dot without a digit on both sides (\"-.5\"): write `-0.5`\nline 2, column 7: a dot without a digit on both sides (\"5.\"): write `5`"},
		{"unit in a cell", head + "0,3 mg,2\n", `line 2, column 3: a number with something after it ("3 mg"): write the number alone`},
		{"two underscores", head + "0,__,2\n", `line 2, column 3: not a number ("__")`},
		{"word", head + "0,abc,2\n", `line 2, column 3: not a number ("abc")`},
		{"columns don't ascend", "throttle \\ rpm,3000,3000,2500\n0,1,2,3\n", "line 1, column 21: the column breakpoints don't ascend: this follows 3000 (\"3000\")\nline 1, column 26: the column breakpoints don't ascend: this follows 3000 (\"2500\")"},
		{"rows don't ascend", head + "25,1,2\n0,1,2\n", `line 3, column 1: the row breakpoints don't ascend: this follows 25 ("0")`},
		{"no axes named", ",3000,5000\n0,1,2\n", "line 1, column 1: the corner cell doesn't name the axes: write it as in `throttle [%] \\ rpm [rpm]`, or `rpm [rpm]` for one axis"},
		{"one of two not named", "throttle \\ ,3000\n0,1\n", "line 1, column 1: the corner cell doesn't name the axes (\"throttle \\\\ \"): write it as in `throttle [%] \\ rpm [rpm]`, or `rpm [rpm]` for one axis"},
		{"unit not closed", "rpm [rpm,3000\n,1\n", "line 1, column 1: the corner cell doesn't name the axes (\"rpm [rpm\"): write it as in `throttle [%] \\ rpm [rpm]`, or `rpm [rpm]` for one axis"},
		{"three axes", "a \\ b \\ c,3000\n0,1\n", `line 1, column 1: the corner cell names more than two axes ("a \\ b \\ c")`},
		{"invisible", "a\u200b \\ b,3000\n0,1\n", `line 1, column 1: the corner cell has a character that can't be seen ("a\u200b \\ b")`},
		{"rows under one axis", "rpm,3000,5000\n0,1,2\n25,1,2\n", "line 1, column 1: the corner names one axis, but the cells have rows (\"rpm\"): name both axes, as in `throttle [%] \\ rpm [rpm]`"},
		{"no cells", "rpm,3000,5000\n", `line 1, column 1: no cells follow the first line ("rpm")`},
		{"no breakpoints", "rpm\nx\n", "line 1, column 1: no breakpoints follow the corner cell (\"rpm\")"},
		{"not UTF-8", "Drossel\xf6 \\ rpm,3000\n0,1\n", `line 1, column 1: the text isn't UTF-8 ("Drossel�` + ` \\ rpm"): save the file as CSV in UTF-8`},
		{"UTF-16", "\xff\xfer\x00", `line 1, column 1: the file is in UTF-16: save it as CSV in UTF-8`},
		{"carriage returns", "rpm,3000\r,1\r", `line 1, column 9: a line ends with a carriage return alone: save the file with LF or CRLF line ends`},
		{"quote inside", head + "0,3\"1\",2\n", `line 2, column 3: a quote stands inside a cell that isn't in quotes ("3\"1\""): put the cell in quotes and double the quotes in it`},
		{"text after quote", head + "0,\"3\"1,2\n", `line 2, column 3: text follows the closing quote of a cell ("31"): put the whole cell in quotes and double the quotes in it`},
		{"quote left open", head + "0,1,\"2\n25,3,4\n", `line 2, column 5: a quote is opened and never closed ("2\n25,3,4\n"): close the quote`},
		{"several, in order", "throttle \\ rpm,x,5000\n0,\"1,5\",2\n25,1\n", "line 1, column 16: not a number (\"x\")\nline 2, column 3: a decimal comma (\"1,5\"): write `1.5`\nline 3, column 4: this line has 2 cells, the first line has 3 (\"1\")"},
		{"columns count characters", "gauß \\ rpm,3000,x\n0,1,2\n", `line 1, column 17: not a number ("x")`},
	} {
		t.Run(c.name, func(t *testing.T) {
			table, errs := ReadCSV([]byte(c.text))
			var got []string
			for _, e := range errs {
				got = append(got, e.Error())
			}
			if s := strings.Join(got, "\n"); s != c.want || table != nil {
				t.Errorf("got\n%s\nwant\n%s", s, c.want)
			}
		})
	}
}

func TestReadCSVStopsAtAHundredErrors(t *testing.T) {
	text := "a \\ b,1,2\n"
	for i := range 80 {
		text += fmt.Sprintf("%d,x,\"y\n", i) // the quote opens here and closes on the next line
	}
	text += strings.Repeat("x,x,x\n", 300)
	_, errs := ReadCSV([]byte(text))
	if len(errs) != maxCSVErrors {
		t.Fatalf("%d errors", len(errs))
	}
	if !slices.IsSortedFunc(errs, func(a, b CSVError) int { return a.From - b.From }) {
		t.Error("not in order of place")
	}
	if errs[0].Line != 2 || errs[0].Cell != "x" {
		t.Errorf("the first is %v", errs[0])
	}
}

func TestTooManyCells(t *testing.T) {
	text := "a \\ b,1,2\n0,1,2\n1,1,2\n"
	if _, errs := split(text, 9); len(errs) > 0 {
		t.Errorf("9 cells in 9: %v", errs)
	}
	records, errs := split(text, 8)
	if len(errs) != 1 || errs[0].Error() != "line 1, column 1: the file has 9 cells, and the most is 8" || records != nil {
		t.Errorf("9 cells in 8: %v", errs)
	}
}

func TestRecords(t *testing.T) {
	got, errs := Records([]byte("\ufeffname,note [text]\r\nlöcal,\"a \"\"b\"\",\nc\",\nlast,x\n\n"))
	want := [][]Field{
		{{"name", 1, 1, 3, 7, false}, {"note [text]", 1, 6, 8, 19, false}},
		{{"löcal", 2, 1, 21, 27, false}, {"a \"b\",\nc", 2, 7, 28, 40, true}, {"", 3, 4, 41, 41, false}},
		{{"last", 4, 1, 42, 46, false}, {"x", 4, 6, 47, 48, false}},
	}
	if len(errs) > 0 || !reflect.DeepEqual(got, want) {
		t.Errorf("got %+v, %v", got, errs)
	}
	if got, errs := Records(nil); got != nil || errs != nil {
		t.Errorf("of nothing: %v, %v", got, errs)
	}
	if got, _ := Records([]byte("a\n\nb\n")); len(got) != 3 || got[1][0].Text != "" {
		t.Errorf("a blank line inside: %v", got)
	}
}

func TestParseNumber(t *testing.T) {
	for text, want := range map[string]float64{
		"0": 0, "12": 12, "-1.5": -1.5, "+2": 2, "007": 7, "1e3": 1000, "1.5e-3": 0.0015, "2e+1": 20, "1e-999": 0,
	} {
		if got, ok := ParseNumber(text); !ok || got != want {
			t.Errorf("%q: got %v, %v", text, got, ok)
		}
	}
	for _, text := range []string{"", " ", "1 ", " 1", ".5", "5.", "1.e3", "e3", "1e", "1e+", "1E3", "--1", "+", "1,5", "1_000",
		"0x10", "nan", "NaN", "inf", "Infinity", "1e999", "1.2.3", "\u0661", "1f"} {
		if got, ok := ParseNumber(text); ok {
			t.Errorf("%q was read as %v", text, got)
		}
	}
}

func TestParseHead(t *testing.T) {
	for text, want := range map[string]AxisHead{
		"rpm": {"rpm", ""}, " rpm [rpm] ": {"rpm", "rpm"}, "flow [g / min]": {"flow", "g / min"},
	} {
		if got, ok := ParseHead(text); !ok || got != want {
			t.Errorf("%q: got %v, %v", text, got, ok)
		}
	}
	for _, text := range []string{"", "[rpm]", "a []", "a [b", "a b]", "a [b] c", "a [b] [c]", "a [[b]]"} {
		if got, ok := ParseHead(text); ok {
			t.Errorf("%q was read as %v", text, got)
		}
	}
}

// Reading what was written gives the table back, within the printed rounding.
func FuzzReadCSV(f *testing.F) {
	f.Add([]byte("throttle [%] \\ rpm [rpm],3000,5000\n0,1.1,1.2\n25,,-3e5\n"), "0.01")
	f.Add([]byte("\ufeffrpm,1,2\r\n,3.1,\r\n"), "")
	f.Add([]byte("\"a,\"\"b\"\" \\ c\",1e-7,2\n-0,1,2\n\n"), "0.25")
	f.Add([]byte("a;b\n\"1,5\";2"), "5")
	f.Add([]byte("a \\ b,1\n1,\"x\n"), "1e-3")
	f.Fuzz(func(t *testing.T, text []byte, step string) {
		table, errs := ReadCSV(text)
		if (table == nil) != (len(errs) > 0) || len(errs) > maxCSVErrors {
			t.Fatalf("table %v with %d errors", table, len(errs))
		}
		for _, e := range errs {
			if e.Line < 1 || e.Col < 1 || e.From < 0 || e.To < e.From || e.To > len(text) || e.Msg == "" {
				t.Fatalf("%+v", e)
			}
		}
		var res Res
		if step != "" {
			var err error
			if res, err = NewRes(step); err != nil {
				return
			}
		}
		if table == nil {
			return
		}
		a := &table.Table
		if len(a.Cells) != a.NRows()*len(a.Cols) || len(a.Cells) != len(table.Given) || len(table.CellLine) != a.NRows() {
			t.Fatalf("the parts of %+v don't fit", table)
		}
		out := AppendCSV(nil, a, table.RowHead, table.ColHead, res)
		again, errs := ReadCSV(out)
		if len(errs) > 0 {
			t.Fatalf("%v in %q", errs, out)
		}
		b := &again.Table
		if again.RowHead != table.RowHead || again.ColHead != table.ColHead || !slices.Equal(a.Cols, b.Cols) || !slices.Equal(a.Rows, b.Rows) || (a.Rows == nil) != (b.Rows == nil) {
			t.Fatalf("%q came back as %+v", out, again)
		}
		for i, v := range a.Cells {
			if b.Cells[i] != res.Round(v) || !again.Given[i] {
				t.Fatalf("cell %d: %v came back as %v, not %v", i, v, b.Cells[i], res.Round(v))
			}
		}
		if twice := AppendCSV(nil, a, table.RowHead, table.ColHead, res); !bytes.Equal(twice, out) {
			t.Fatal("the same table was written in two ways")
		}
	})
}

// Every field stands where it says, and the fields with what is between them are
// the whole text.
func FuzzRecords(f *testing.F) {
	f.Add("a,b\r\n\"c \"\"d\"\"\",\n\n")
	f.Add("\ufeffa\n\n\nb,\"c\nd\"")
	f.Add("a\"b,\"c\"d,\xff\r\re")
	f.Add("a;b")
	f.Fuzz(func(t *testing.T, text string) {
		records, errs := Records([]byte(text))
		if len(errs) > 0 {
			for i, e := range errs {
				if e.From < 0 || e.To < e.From || e.To > len(text) || i > 0 && e.From < errs[i-1].From {
					t.Fatalf("%+v", e)
				}
			}
			return
		}
		rest := strings.TrimPrefix(text, "\ufeff")
		for _, record := range records {
			for i, field := range record {
				raw := text[field.From:field.To]
				if before := text[:field.From]; strings.Count(before, "\n")+1 != field.Line {
					t.Fatalf("%+v of %q: the line is wrong", field, text)
				}
				switch {
				case field.Quoted && raw != `"`+strings.ReplaceAll(field.Text, `"`, `""`)+`"`,
					!field.Quoted && (raw != field.Text || strings.ContainsAny(raw, ",\"\r\n")):
					t.Fatalf("%+v of %q", field, text)
				}
				if i > 0 {
					raw = "," + raw
				}
				var ok bool
				if rest, ok = strings.CutPrefix(rest, raw); !ok {
					t.Fatalf("%+v of %q: the rest is %q", field, text, rest)
				}
			}
			if rest != "" {
				var lf, crlf bool
				if rest, crlf = strings.CutPrefix(rest, "\r\n"); !crlf {
					if rest, lf = strings.CutPrefix(rest, "\n"); !lf {
						t.Fatalf("no line end before %q", rest)
					}
				}
			}
		}
		if strings.Trim(rest, " \t\r\n") != "" {
			t.Fatalf("%q was left over", rest)
		}
	})
}

func BenchmarkReadCSV(b *testing.B) {
	text := AppendCSV(nil, benchTable(), throttle, rpm, Res{})
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		if _, errs := ReadCSV(text); len(errs) > 0 {
			b.Fatal(errs)
		}
	}
}
