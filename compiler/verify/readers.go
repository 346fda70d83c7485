package verify

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"path"
	"slices"
	"strings"

	"fettle/compiler/emit"
	"fettle/compiler/form"
	"fettle/compiler/grid"
	"fettle/compiler/resample"
	"fettle/compiler/table"
	"fettle/compiler/workbook"
)

// readPlain reads a plain file; opening a pipe would wait for somebody to write.
func readPlain(fsys fs.FS, name string) ([]byte, error) {
	if st, err := fs.Stat(fsys, name); err == nil && !st.Mode().IsRegular() {
		return nil, errors.New("it is not a plain file")
	}
	f, err := fsys.Open(name)
	if err != nil {
		var p *fs.PathError
		if errors.As(err, &p) {
			err = p.Err
		}
		return nil, fmt.Errorf("%s can't be read: %w", path.Base(name), err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, maxFile+1))
	if err == nil && len(data) > maxFile {
		err = errors.New("it is too large to be a table")
	}
	return data, err
}

// aloneError says that one of an image's two files isn't there.
type aloneError struct {
	text string
}

func (e *aloneError) Error() string { return e.text }

// stem is a file's name without its folder and its end.
func stem(name string) string { return strings.TrimSuffix(path.Base(name), path.Ext(name)) }

func readCSV(fsys fs.FS, name string) ([]*Table, error) {
	data, err := readPlain(fsys, name)
	if err != nil {
		return nil, err
	}
	t, err := delimited(stem(name), name, data)
	if err != nil {
		return nil, err
	}
	return []*Table{t}, nil
}

// readTSV reads a table with tabs as one with commas.
func readTSV(fsys fs.FS, name string) ([]*Table, error) {
	data, err := readPlain(fsys, name)
	if err != nil {
		return nil, err
	}
	t, err := delimited(stem(name), name, []byte(strings.ReplaceAll(string(data), "\t", ",")))
	if err != nil {
		return nil, err
	}
	return []*Table{t}, nil
}

// delimited reads a table in the shape that build writes.
func delimited(name, file string, text []byte) (*Table, error) {
	read, faults := grid.ReadCSV(text)
	if len(faults) > 0 {
		return nil, faults[0]
	}
	in := &read.Table
	cells, _, bad, ok := grid.Fill(in.Rows, in.Cols, in.Cells, read.Given)
	if !ok {
		return nil, fmt.Errorf("line %d has a blank cell with nothing to lean on: its row and its column are blank throughout", read.CellLine[bad/len(in.Cols)])
	}
	blank := 0
	for _, given := range read.Given {
		if !given {
			blank++
		}
	}
	return &Table{Name: name, File: file, Cells: cells, Filled: blank, Decimals: decimals(text), Cols: table.Axis{Name: read.ColHead.Name, Unit: read.ColHead.Unit, Points: read.Table.Cols},
		Rows: table.Axis{Name: read.RowHead.Name, Unit: read.RowHead.Unit, Points: read.Table.Rows}}, nil
}

// decimals is the most that any cell of a text is written with.
func decimals(text []byte) int {
	records, _ := grid.Records(text)
	n := 0
	for _, rec := range records[1:] {
		for _, f := range rec[1:] {
			_, frac, _ := strings.Cut(strings.TrimSpace(f.Text), ".")
			if strings.ContainsAny(f.Text, "eE") {
				return -1
			}
			n = max(n, len(frac))
		}
	}
	return n
}

// readBook reads the tables of a workbook: of each sheet the one whose corner
// names its axes, above and beside its breakpoints.
func readBook(fsys fs.FS, name string) ([]*Table, error) {
	data, err := readPlain(fsys, name)
	if err != nil {
		return nil, err
	}
	pages, err := workbook.Read(data)
	if err != nil {
		if errors.Is(err, workbook.ErrTooLarge) {
			return nil, fmt.Errorf("the workbook %w", err)
		}
		return nil, fmt.Errorf("it can't be read as a workbook: %w", err)
	}
	var out []*Table
	for _, page := range pages {
		if text := gridOf(page); text != "" {
			t, err := delimited(page.Name, name, []byte(text))
			if err != nil {
				return nil, fmt.Errorf("sheet %s: %w", page.Name, err)
			}
			out = append(out, t)
		}
	}
	if len(out) == 0 {
		return nil, errors.New("no sheet of it holds a table")
	}
	return out, nil
}

// gridOf gives a sheet's table as CSV; "" if it has none.
func gridOf(page workbook.Page) string {
	top := slices.IndexFunc(page.Rows, func(row []workbook.Cell) bool {
		if len(row) < 2 || row[0].IsNum || row[0].Text == "" {
			return false
		}
		return !slices.ContainsFunc(row[1:], func(c workbook.Cell) bool { return !c.IsNum })
	})
	if top < 0 {
		return ""
	}
	var b strings.Builder
	for r, row := range page.Rows[top:] {
		if len(row) != len(page.Rows[top]) || r > 0 && !row[0].IsNum && row[0].Text != "" {
			break
		}
		for c, cell := range row {
			if c > 0 {
				b.WriteByte(',')
			}
			b.WriteString(`"` + strings.ReplaceAll(strings.TrimPrefix(cell.Text, "'"), `"`, `""`) + `"`)
		}
		b.WriteByte('\n')
	}
	return b.String()
}

// readJSON reads a tables.json, or the image that an image.json is of.
func readJSON(fsys fs.FS, name string) ([]*Table, error) {
	data, err := readPlain(fsys, name)
	if err != nil {
		return nil, err
	}
	var head struct{ Schema string }
	if err := json.Unmarshal(data, &head); err != nil {
		return nil, fmt.Errorf("it isn't JSON that build writes: %w", err)
	}
	switch head.Schema {
	case form.ImageVersion:
		return image(fsys, name, data)
	case form.TablesVersion:
	case "":
		return nil, errors.New("it isn't JSON that build writes")
	default:
		return nil, fmt.Errorf("it is of the form %q, and tables are read from %q and %q", head.Schema, form.TablesVersion, form.ImageVersion)
	}
	var in form.Tables
	if err := json.Unmarshal(data, &in); err != nil {
		return nil, fmt.Errorf("it isn't JSON that build writes: %w", err)
	}
	var out []*Table
	for _, t := range in.Tables {
		one := &Table{Name: t.Name, File: name, Decimals: -1}
		for _, a := range t.Axes {
			one.Rows, one.Cols = one.Cols, table.Axis{Name: a.Name, Unit: a.Unit, Points: points(a.Breakpoints)}
		}
		one.Cells = flat(t.Cells, nil)
		if err := one.whole(); err != nil {
			return nil, err
		}
		if st := t.Storage; st != nil {
			raw := meant(flat(st.Raw, nil), st.Type, float64(st.Step), float64(st.Offset))
			if !slices.EqualFunc(raw, one.Cells, func(a, b float64) bool { return math.Abs(a-b) <= float64(st.Step)/2 }) {
				return nil, fmt.Errorf("table %q has raw numbers that don't mean its cells", t.Name)
			}
		}
		out = append(out, one)
	}
	if len(out) == 0 {
		return nil, errNone
	}
	return out, nil
}

var errNone = errors.New("it holds no table")

func points(list []emit.Number) []float64 {
	out := make([]float64, len(list))
	for i, x := range list {
		out[i] = float64(x)
	}
	return out
}

// flat gives the numbers of lists in lists.
func flat(v any, out []float64) []float64 {
	switch v := v.(type) {
	case float64:
		out = append(out, v)
	case []any:
		for _, x := range v {
			out = flat(x, out)
		}
	}
	return out
}

// whole refuses a table that isn't one.
func (t *Table) whole() error {
	for _, list := range [][]float64{t.Rows.Points, t.Cols.Points} {
		for i := 1; i < len(list); i++ {
			if !(list[i] > list[i-1]) {
				return fmt.Errorf("table %q has breakpoints that don't ascend", t.Name)
			}
		}
	}
	if n := max(1, len(t.Rows.Points)) * len(t.Cols.Points); n == 0 || n != len(t.Cells) {
		return fmt.Errorf("table %q has another number of cells than its breakpoints make", t.Name)
	}
	for _, list := range [][]float64{t.Rows.Points, t.Cols.Points, t.Cells} {
		if slices.ContainsFunc(list, func(x float64) bool { return math.IsNaN(x) || math.IsInf(x, 0) }) {
			return fmt.Errorf("table %q has a number in it that isn't finite", t.Name)
		}
	}
	return nil
}

// readImage reads the raw image that the image.json beside it describes.
func readImage(fsys fs.FS, name string) ([]*Table, error) {
	about := strings.TrimSuffix(name, path.Ext(name)) + ".json"
	data, err := readPlain(fsys, about)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, &aloneError{fmt.Sprintf("what stands where in it is told by %s beside it, and there is none", path.Base(about))}
	}
	if err != nil {
		return nil, fmt.Errorf("what stands where in it is told by a %s beside it: %w", path.Base(about), err)
	}
	return image(fsys, about, data)
}

func image(fsys fs.FS, about string, data []byte) ([]*Table, error) {
	var in form.Image
	if err := json.Unmarshal(data, &in); err != nil || in.Schema != form.ImageVersion {
		return nil, fmt.Errorf("%s isn't the map of an image", path.Base(about))
	}
	if in.File != path.Base(in.File) || in.File == "." {
		return nil, fmt.Errorf("%s names %q, which is no file beside it", path.Base(about), in.File)
	}
	name := path.Join(path.Dir(about), in.File)
	raw, err := readPlain(fsys, name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, &aloneError{fmt.Sprintf("it describes %s, which isn't beside it", in.File)}
	}
	if err != nil {
		return nil, err
	}
	if len(raw) != in.Bytes {
		sum := sha256.Sum256(raw)
		return nil, fmt.Errorf("%s has %d bytes (SHA-256 %s), and its map is of %d", in.File, len(raw), hex.EncodeToString(sum[:])[:12], in.Bytes)
	}
	var out []*Table
	for _, t := range in.Tables {
		var order binary.ByteOrder = binary.LittleEndian
		if t.ByteOrder == "big" {
			order = binary.BigEndian
		}
		one := &Table{Name: t.Name, File: name, Decimals: -1}
		n := 1
		for i, a := range t.Axes {
			list, err := numbersAt(raw, order, "f64", a.Offset, a.Count)
			if err != nil {
				return nil, err
			}
			if i < len(t.Shape) {
				n *= t.Shape[i]
			}
			one.Rows, one.Cols = one.Cols, table.Axis{Name: a.Name, Unit: a.Unit, Points: list}
		}
		cells, err := numbersAt(raw, order, t.Type, t.Offset, n)
		if err != nil {
			return nil, err
		}
		one.Cells = meant(cells, table.Type(t.Type), float64(t.Step), float64(t.OffsetValue))
		if err := one.whole(); err != nil {
			return nil, err
		}
		out = append(out, one)
	}
	if len(out) == 0 {
		return nil, errNone
	}
	return out, nil
}

// meant gives what raw numbers mean, as the decimals that a build gives: 22 steps
// of 0.05 are 1.1.
func meant(raw []float64, kind table.Type, step, offset float64) []float64 {
	out := make([]float64, len(raw))
	for i, x := range raw {
		out[i] = float64(x*step) + offset
	}
	if !slices.Contains(table.Types, kind) || kind == table.F32 || !(step > 0) || math.IsInf(step, 0) {
		return out
	}
	if again, values, bad := resample.Store(out, table.Storage{Type: kind, Step: step, Offset: offset}); bad == nil && slices.Equal(again, raw) {
		return values
	}
	return out
}

// numbersAt reads numbers of a type from a place of an image.
func numbersAt(raw []byte, order binary.ByteOrder, kind string, at, n int) ([]float64, error) {
	size := map[string]int{"f64": 8, "f32": 4, "u8": 1, "i8": 1, "u16": 2, "i16": 2, "u32": 4, "i32": 4}[kind]
	if size == 0 {
		return nil, fmt.Errorf("an image has no numbers of the type %q", kind)
	}
	if at < 0 || n < 1 || at > len(raw) || n > (len(raw)-at)/size {
		return nil, errors.New("the map of the image names a place outside it")
	}
	out := make([]float64, n)
	for i := range out {
		b := raw[at+i*size:]
		switch kind {
		case "f64":
			out[i] = math.Float64frombits(order.Uint64(b))
		case "f32":
			out[i] = float64(math.Float32frombits(order.Uint32(b)))
		case "u8":
			out[i] = float64(b[0])
		case "i8":
			out[i] = float64(int8(b[0]))
		case "u16":
			out[i] = float64(order.Uint16(b))
		case "i16":
			out[i] = float64(int16(order.Uint16(b)))
		case "u32":
			out[i] = float64(order.Uint32(b))
		default:
			out[i] = float64(int32(order.Uint32(b)))
		}
	}
	return out, nil
}
