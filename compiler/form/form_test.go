package form

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"fettle/compiler/emit"
	"fettle/compiler/grid"
	"fettle/compiler/table"
	"fettle/compiler/workbook"
)

func TestNamed(t *testing.T) {
	got, err := Named([]string{"xlsx", " csv", "xlsx"})
	if err != nil || len(got) != 2 || got[0].Name != "xlsx" || got[1].Name != "csv" {
		t.Errorf("%v, %v", got, err)
	}
	for name, want := range map[string]string{
		"xlxs": "there is no format xlxs: did you mean xlsx?",
		"":     `there is no format ""; tables are written as csv, tsv, json, xlsx, c, bin`,
	} {
		if _, err := Named([]string{name}); err == nil || err.Error() != want {
			t.Errorf("%q: %v", name, err)
		}
	}
}

// A table's own CSV is what a build writes of its map, and both read back.
func TestCSV(t *testing.T) {
	for _, c := range append(contents(t), stored(t)) {
		for i := range c.Tables {
			x := &c.Tables[i]
			read, faults := grid.ReadCSV(x.CSV())
			if len(faults) > 0 {
				t.Fatalf("%s: %v", x.Name, faults)
			}
			same(t, x, read.Table.Rows, read.Table.Cols, read.Table.Cells)
			if c.Target != "" {
				continue
			}
			m := c.Input.Program.Maps[i]
			if built := emit.CSV(c.Input.Program, m, &c.Input.Result.Maps[i]); !bytes.Equal(built, x.CSV()) {
				t.Errorf("%s: %s differs from %s", x.Name, x.CSV(), built)
			}
		}
	}
}

func TestTSV(t *testing.T) {
	each(t, "tsv", func(t *testing.T, c *emit.Content, files map[string][]byte) {
		for i := range c.Tables {
			x := &c.Tables[i]
			read, faults := grid.ReadCSV(bytes.ReplaceAll(files[x.Name+".tsv"], []byte("\t"), []byte(",")))
			if len(faults) > 0 {
				t.Fatalf("%s: %v", x.Name, faults)
			}
			same(t, x, read.Table.Rows, read.Table.Cols, read.Table.Cells)
		}
	})
}

func schema(t *testing.T, text string) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	id := doc.(map[string]any)["$id"].(string)
	c := jsonschema.NewCompiler()
	if err := c.AddResource(id, doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile(id)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func valid(t *testing.T, s *jsonschema.Schema, data []byte) {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	if err == nil {
		err = s.Validate(doc)
	}
	if err != nil {
		t.Error(err)
	}
}

// flat gives the numbers of a list, or of a list of lists.
func flat(v any) []float64 {
	var out []float64
	for _, x := range v.([]any) {
		switch x := x.(type) {
		case float64:
			out = append(out, x)
		default:
			out = append(out, flat(x)...)
		}
	}
	return out
}

func floats(xs []emit.Number) []float64 {
	var out []float64
	for _, x := range xs {
		out = append(out, float64(x))
	}
	return out
}

func TestJSON(t *testing.T) {
	s := schema(t, TablesSchema)
	each(t, "json", func(t *testing.T, c *emit.Content, files map[string][]byte) {
		valid(t, s, files["tables.json"])
		var read Tables
		if err := json.Unmarshal(files["tables.json"], &read); err != nil {
			t.Fatal(err)
		}
		if read.Tune != c.About.Name || read.Target != c.Target || len(read.Tables) != len(c.Tables) || len(read.Conditions) != len(c.About.Conditions) {
			t.Errorf("%+v", read)
		}
		for i := range read.Tables {
			want, got := &c.Tables[i], &read.Tables[i]
			var rows []float64
			if len(got.Axes) == 2 {
				rows = floats(got.Axes[0].Breakpoints)
			}
			same(t, want, rows, floats(got.Axes[len(got.Axes)-1].Breakpoints), flat(got.Cells))
			if want.Storage != nil && (got.Storage.Type != want.Storage.Type || !slices.Equal(flat(got.Storage.Raw), want.Storage.Raw) || float64(got.Storage.Step) != want.Storage.Step ||
				float64(got.Storage.Offset) != want.Storage.Offset || got.Storage.ByteOrder != byteOrder(want.Storage.Big)) {
				t.Errorf("%s: %+v", want.Name, got.Storage)
			}
		}
	})
}

// A reader of images that knows no more than image.json says.
func TestBin(t *testing.T) {
	s := schema(t, ImageSchema)
	each(t, "bin", func(t *testing.T, c *emit.Content, files map[string][]byte) {
		valid(t, s, files["image.json"])
		var m Image
		if err := json.Unmarshal(files["image.json"], &m); err != nil {
			t.Fatal(err)
		}
		raw := files[m.File]
		if sum := sha256.Sum256(raw); len(raw) != m.Bytes || hex.EncodeToString(sum[:]) != m.SHA256 || len(m.Tables) != len(c.Tables) {
			t.Fatalf("%d bytes, %+v", len(raw), m)
		}
		end := 0
		for i := range m.Tables {
			want, got := &c.Tables[i], &m.Tables[i]
			var order binary.ByteOrder = binary.LittleEndian
			if got.ByteOrder == "big" {
				order = binary.BigEndian
			}
			var points [][]float64
			for _, a := range got.Axes {
				var xs []float64
				for k := range a.Count {
					xs = append(xs, math.Float64frombits(order.Uint64(raw[a.Offset+8*k:])))
				}
				if points = append(points, xs); a.Offset < end || a.Offset%8 != 0 {
					t.Errorf("%s: axis %s stands at %d", got.Name, a.Name, a.Offset)
				}
				end = a.Offset + 8*a.Count
			}
			n := got.Shape[0]
			if len(got.Shape) == 2 {
				n *= got.Shape[1]
			}
			size := got.Bytes / n
			if got.Offset < end || got.Offset%size != 0 {
				t.Errorf("%s stands at %d", got.Name, got.Offset)
			}
			end = got.Offset + got.Bytes
			var cells []float64
			for k := range n {
				cells = append(cells, readNumber(t, got.Type, order, raw[got.Offset+k*size:]))
			}
			cells = meant(t, want, cells, float64(got.Step), float64(got.OffsetValue))
			var rows []float64
			if len(points) == 2 {
				rows = points[0]
			}
			same(t, want, rows, points[len(points)-1], cells)
		}
		if end != len(raw) {
			t.Errorf("%d bytes belong to tables, of %d", end, len(raw))
		}
	})
}

func readNumber(t *testing.T, kind string, order binary.ByteOrder, b []byte) float64 {
	switch kind {
	case "u8":
		return float64(b[0])
	case "i8":
		return float64(int8(b[0]))
	case "u16":
		return float64(order.Uint16(b))
	case "i16":
		return float64(int16(order.Uint16(b)))
	case "u32":
		return float64(order.Uint32(b))
	case "i32":
		return float64(int32(order.Uint32(b)))
	case "f32":
		return float64(math.Float32frombits(order.Uint32(b)))
	case "f64":
		return math.Float64frombits(order.Uint64(b))
	}
	t.Fatalf("there is no %s", kind)
	return 0
}

// A raw value that its type can't hold is refused, not cut off.
func TestBinRefusesWhatDoesNotFit(t *testing.T) {
	for _, x := range []float64{256, -1, 1.5} {
		c := stored(t)
		c.Tables = c.Tables[:1]
		c.Tables[0].Storage.Raw[0] = x
		if _, err := image(c); err == nil {
			t.Errorf("%v was written as %s", x, c.Tables[0].Storage.Type)
		}
	}
}

func TestXLSX(t *testing.T) {
	each(t, "xlsx", func(t *testing.T, c *emit.Content, files map[string][]byte) {
		pages, err := workbook.Read(files["tables.xlsx"])
		if err != nil {
			t.Fatal(err)
		}
		if len(pages) != len(c.Tables)+1 || pages[0].Name != "tune" {
			t.Fatalf("%d sheets", len(pages))
		}
		all := ""
		for _, row := range pages[0].Rows {
			for _, cell := range row {
				all += cell.Text + "\n"
			}
		}
		for _, caution := range c.About.Cautions {
			if !strings.Contains(all, caution) {
				t.Errorf("the first sheet lacks %q", caution)
			}
		}
		for _, l := range c.About.Limits {
			if !strings.Contains(all, l.Name+"\n"+l.Text) {
				t.Errorf("the first sheet lacks the limit %s", l.Name)
			}
		}
		for i := range c.Tables {
			checkSheet(t, &c.Tables[i], pages[i+1])
		}
	})
}

func checkSheet(t *testing.T, want *table.Table, p workbook.Page) {
	t.Helper()
	if p.Name != want.Name {
		t.Errorf("the sheet of %s is called %s", want.Name, p.Name)
	}
	grid := p.Rows[3:]
	if grid[0][0].Text != want.Corner() {
		t.Errorf("%s: corner %q", want.Name, grid[0][0].Text)
	}
	var rows, cols, cells []float64
	number := func(c workbook.Cell) float64 {
		if !c.IsNum {
			t.Fatalf("%s: %q is no number", want.Name, c.Text)
		}
		return c.Number
	}
	for _, c := range grid[0][1:] {
		cols = append(cols, number(c))
	}
	for _, row := range grid[1:] {
		if want.Rows.Points != nil {
			rows = append(rows, number(row[0]))
		}
		for _, c := range row[1:] {
			cells = append(cells, number(c))
		}
	}
	same(t, want, rows, cols, cells)
}
